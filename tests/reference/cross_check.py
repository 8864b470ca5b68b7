"""Checks coats.json, year.json and spread.json by another way of integration; prints the agreement.

It shares no code with quadrature.py: fixed Gauss-Legendre panels in 30-digit arithmetic, the
temperature looked up afresh at every node, and the square root after the last reading integrated in
time itself, on panels that shrink towards the last reading.
"""

import csv
import json
from bisect import bisect_right
from pathlib import Path

from mpmath import e1, exp, log, mp, mpf, sqrt
from numpy.polynomial.legendre import leggauss

HERE = Path(__file__).parent
mp.dps = 30
R, KELVIN = mpf("8.314462618"), mpf("273.15")
NODES_WANTED = 16
LONGEST_PANEL = 2 * 3600


def gauss_nodes(count):
    """Nodes and weights on -1..1: those of double precision, made exact by Newton's method."""
    found = []
    for start in leggauss(count)[0]:
        x = mpf(float(start))
        for _ in range(3):
            before, value = mpf(1), x
            for n in range(2, count + 1):
                before, value = value, ((2 * n - 1) * x * value - (n - 1) * before) / n
            slope = count * (x * value - before) / (x * x - 1)
            x -= value / slope
        found.append((x, 2 / ((1 - x * x) * slope * slope)))
    return found


NODES = gauss_nodes(NODES_WANTED)


class Model:
    def __init__(self, case, readings, sign=0):
        self.case, self.sign = case, sign
        self.readings = [(mpf(t), mpf(c), None if rh is None else mpf(rh)) for t, c, rh in readings]
        self.times = [t for t, _, _ in self.readings]
        self.points = [(mpf(c) + KELVIN, mpf(s)) for c, s in case["table"]]

    def air(self, t):
        i = bisect_right(self.times, t)
        if i == 0 or i == len(self.times):
            return self.readings[max(i - 1, 0)][1:]
        (t0, c0, h0), (t1, c1, h1) = self.readings[i - 1], self.readings[i]
        u = (t - t0) / (t1 - t0)
        return c0 + (c1 - c0) * u, None if h0 is None else h0 + (h1 - h0) * u

    def celsius(self, t):
        hours = max(t - self.times[-1], 0) / 3600
        return self.air(t)[0] + self.sign * (1 + min(sqrt(hours) / 2, 6))

    def rate(self, t):
        celsius, humidity = self.celsius(t) if self.sign else self.air(t)[0], self.air(t)[1]
        stall = self.case["stall_below"]
        if stall is not None and celsius < stall:
            return mpf(0)
        kelvin = celsius + KELVIN
        if len(self.points) == 1:
            (anchor, seconds), = self.points
            slope = 1000 * mpf(self.case["activation_energy"]) / R
        else:
            i = min(sum(kelvin >= k for k, _ in self.points[1:-1]), len(self.points) - 2)
            (anchor, seconds), (other, less) = self.points[i : i + 2]
            slope = log(less / seconds) / (1 / other - 1 / anchor)
        factor, reference = mpf(1), self.case["reference_humidity"]
        if self.case["cure"] == "drying":
            factor = max(1 - humidity, mpf(0)) / (1 - mpf(reference))
        elif self.case["cure"] == "moisture":
            factor = humidity / mpf(reference)
        return factor / seconds * exp(-slope * (1 / kelvin - 1 / anchor))

    def kinks(self, t0, t1):
        """Where, between two corners, the temperature passes a kink; by bisection, as it is monotone there."""
        levels = [mpf(c) for c, _ in self.case["table"]]
        if self.case["stall_below"] is not None:
            levels.append(mpf(self.case["stall_below"]))
        sided = lambda t, level: (self.celsius(t) if self.sign else self.air(t)[0]) - level
        for level in levels:
            low, high = t0, t1
            first = sided(low, level)
            if first * sided(high, level) < 0:
                for _ in range(95):
                    middle = (low + high) / 2
                    low, high = (middle, high) if first * sided(middle, level) > 0 else (low, middle)
                yield low

    def progress_at(self, wanted):
        """The progress at each of the rising moments `wanted`, in one sweep."""
        last, final = self.times[-1], wanted[-1]
        corners = {mpf(0), *wanted} | {t for t in self.times if 0 < t < final}
        if self.sign:  # shrinking panels towards the last reading
            grown = [last + mpf(144 * 3600) / 2**k for k in range(70)]
            corners |= {t for t in grown if 0 < t < final}
        corners = sorted(corners)
        cuts = set(corners)
        for t0, t1 in zip(corners, corners[1:]):
            cuts.update(self.kinks(t0, t1))
        cuts = sorted(cuts)
        total, found = mpf(0), {mpf(0): mpf(0)}
        for t0, t1 in zip(cuts, cuts[1:]):
            held = t0 >= last + (144 * 3600 if self.sign else 0)
            panels = 1 if held else int((t1 - t0) / LONGEST_PANEL) + 1
            half = (t1 - t0) / panels / 2
            for n in range(panels):
                middle = t0 + (2 * n + 1) * half
                total += half * sum(w * self.rate(middle + half * x) for x, w in NODES)
            found[t1] = total
        return [found[t] for t in wanted]


class Agreement:
    def __init__(self, name):
        self.name, self.count, self.relative, self.seconds = name, 0, 0.0, 0.0

    def compare(self, model, probes, crossings):
        self.count += 1
        reached = [(p, t) for p, t in crossings if t is not None]
        wanted = sorted({mpf(t) for t, _ in probes} | {mpf(t) for _, t in reached})
        never = mpf(10) ** 12
        progress = dict(zip(wanted + [never], model.progress_at(wanted + [never])))
        for t, p in probes:
            exact = progress[mpf(t)]
            self.relative = max(self.relative, float(abs(p - exact) / exact) if exact else abs(p))
        for p, t in reached:
            rate = model.rate(mpf(t) * (1 - mpf(10) ** -12))
            self.seconds = max(self.seconds, float(abs(progress[mpf(t)] - p) / rate))
        for p, t in crossings:
            assert t is not None or (progress[never] < p and model.rate(never) == 0), model.case["name"]

    def __str__(self):
        progress = f"progress within {self.relative:.1e} relative, " if self.relative else ""
        return f"{self.name}: {self.count} runs, {progress}crossings within {self.seconds:.1e} s"


def main():
    def load(name):
        return json.loads((HERE / name).read_text(encoding="utf-8"))

    agreement = Agreement("coats.json")
    for case in load("coats.json"):
        agreement.compare(Model(case, case["readings"]), case["probes"], case["crossings"])
    print(agreement)

    agreement = Agreement("spread.json")
    for case in load("spread.json"):
        for sign, key in ((1, "earliest_s"), (0, "at_s"), (-1, "latest_s")):
            agreement.compare(Model(case, case["readings"], sign), [], [(1, case[key])])
    print(agreement)

    agreement = Agreement("year.json")
    with (HERE / "year.csv").open(encoding="utf-8") as text:
        hours = [(int(row["hour"]), float(row["temperature_c"]), float(row["relative_humidity"]) / 100)
                 for row in csv.DictReader(text)]
    for case in load("year.json"):
        begin = case["start_hour"]
        ahead = [(3600 * (hour - begin), c, rh) for hour, c, rh in hours if begin <= hour]
        agreement.compare(Model(case, ahead), case["probes"], [(1, case["crossing_s"])])
    print(agreement)

    # The ramp 5 to 35 degrees C over 10 h, E = 60 kJ/mol, 20 degrees C: the exponential integral has it closed.
    energy = 60000 / R
    primitive = lambda k: k * exp(-energy / k) - energy * e1(energy / k)
    age = exp(energy / (20 + KELVIN)) * (primitive(35 + KELVIN) - primitive(5 + KELVIN)) / 3
    ramp = dict(map(tuple, load("coats.json")[0]["probes"]))[36000]
    print(f"ramp: closed form {mp.nstr(age, 17)} h, coats.json {ramp!r} h")


if __name__ == "__main__":
    main()
