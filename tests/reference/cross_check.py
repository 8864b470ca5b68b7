"""Checks coats.json, year.json and spread.json by another way of integration; prints the agreement.

It shares no code with quadrature.py: fixed Gauss-Legendre panels in 30-digit arithmetic, the
temperature looked up afresh at every node. The errors of a film that begins at 0 are worked out anew
from the law that quadrature.py states.
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


HOURS = list(range(13)) + [15, 18, 21, 24, 30, 36, 42, 48, 60, 72, 96, 120, 144, 168]


def sum_of(one, other):
    """Two independent growths: (error, mean of it, gain of mean times time)."""
    mean = sqrt(one[1] ** 2 + other[1] ** 2)
    gain = (one[1] * one[2] + other[1] * other[2]) / mean if mean else mpf(0)
    return [sqrt(one[0] ** 2 + other[0] ** 2), mean, gain]


def walk(step, hours):
    end = mpf(step) * sqrt(hours)
    return [end, end / sqrt(3), end * sqrt(3) / 2]


def light_shed(hours):
    """8 K of a sine's first half day, and 0.68 K for the root of an hour, 8 K at most."""
    hours, turn = mpf(hours), mp.pi / 24
    day = [mpf(0)] * 3
    if 0 < hours <= 12:
        day = [8 * mp.sin(turn * hours), 8 * (1 - mp.cos(turn * hours)) / (turn * hours), 8 * mp.sin(turn * hours)]
    elif hours > 12:
        day = [mpf(8), (8 / turn + mpf("4.8") * (hours - 12)) / hours, mpf("4.8")]
    drift = walk("0.68", hours)
    if drift[0] >= 8:
        drift = [mpf(8), 8 / sqrt(3), 8 / sqrt(3)]
    return sum_of(day, drift)


BEHIND = [light_shed(h) for h in HOURS]
INSIDE = [[max(g[i] for g in BEHIND[: n + 1]) for i in range(3)] for n in range(len(HOURS))]


def between_knots(values, hours):
    i = bisect_right(HOURS, hours)
    if i == len(HOURS):
        return values(i - 1)
    share = (hours - HOURS[i - 1]) / (HOURS[i] - HOURS[i - 1])
    return [a + (b - a) * share for a, b in zip(values(i - 1), values(i))]


def film_error(table, steady, scale, drift, start, seconds, limit=mpf("inf")):
    """What a film begun `start` seconds after a reading adds to its error, `seconds` after that."""
    start = max(start, mpf(0)) / 3600
    since = max(seconds / 3600 - start, mpf(0))
    grown = lambda h: sum_of([scale * g for g in between_knots(lambda i: table[i], h)], walk(drift, h))

    def at_knot(i):
        fixed = sqrt(steady**2 + grown(start)[0] ** 2)
        _, mean, gain = grown(mpf(HOURS[i]))
        most = sqrt(steady**2 + grown(start + HOURS[i])[0] ** 2)
        return [min((fixed**2 + mean * gain) / sqrt(fixed**2 + mean**2), most, limit)]

    return between_knots(at_knot, since)[0]


class Model:
    def __init__(self, case, readings, sign=0):
        self.case = case
        known = any(r[2] is not None for r in readings)
        both = {"reaction": 1, "drying": mpf("0.93"), "moisture": mpf("0.82")}[case["cure"]] if known else 1
        self.sign = sign * both
        self.opposed = mpf("0.3") if case["cure"] == "moisture" else mpf(1)
        self.readings = [(mpf(r[0]), mpf(r[1]), None if r[2] is None else mpf(r[2])) for r in readings]
        self.times = [t for t, _, _ in self.readings]
        self.damp = [(t, h) for t, _, h in self.readings if h is not None]
        self.surface = [(mpf(r[0]), mpf(r[3])) for r in readings if len(r) > 3 and r[3] is not None]
        self.points = [(mpf(c) + KELVIN, mpf(s)) for c, s in case["table"]]
        self.corners = self.times + self.film_corners()

    @staticmethod
    def line(points, t):
        """Linear between the points, held outside."""
        i = bisect_right([p for p, _ in points], t)
        if i == 0 or i == len(points):
            return points[max(i - 1, 0)][1]
        (t0, a), (t1, b) = points[i - 1 : i + 1]
        return a + (b - a) * (t - t0) / (t1 - t0)

    def measured_air(self, t):
        return self.line([(t, c) for t, c, _ in self.readings], t)

    def film_corners(self):
        """An eighth of an hour apart while the difference to the air fades, after every measured surface."""
        found, self.fades = [], []
        for (t, c), end in zip(self.surface, [s for s, _ in self.surface[1:]] + [mpf("inf")]):
            left = c - self.measured_air(t)
            if end - t <= 7200 or left == 0:
                continue
            count = int(mp.ceil(8 * max(mpf(0), log(abs(left) / mpf("0.005")))))
            steps = [t + mpf(450) * k for k in range(count + 1)]
            self.fades.append((t, left, steps))
            found += [step for step in steps if step < end]
        return found

    def film(self, t):
        """The surface where it was measured, else the air."""
        if not self.surface:
            return self.measured_air(t)
        nodes = sorted({u for u in self.corners if u <= self.times[-1]})
        i = bisect_right(nodes, t)
        if 0 < i < len(nodes):
            a, b = nodes[i - 1 : i + 1]
            one, other = self.at_corner(a), self.at_corner(b)
            return one + (other - one) * (t - a) / (b - a)
        if i == 0:
            return self.at_corner(nodes[0])
        # Behind the last reading: what is left there fades from there.
        left = self.at_corner(self.times[-1]) - self.measured_air(self.times[-1])
        count = int(mp.ceil(8 * max(mpf(0), log(abs(left) / mpf("0.005"))))) if left else 0
        steps = [(mpf(450) * k, left * exp(-mpf(k) / 8) if k < count else mpf(0)) for k in range(count + 1)]
        return self.measured_air(t) + (self.line(steps, t - self.times[-1]) if count else 0)

    def at_corner(self, t):
        before = [s for s in self.surface if s[0] <= t]
        after = [s for s in self.surface if s[0] > t]
        if not before:
            return self.measured_air(t)
        (t0, c0) = before[-1]
        if t > t0 and after and after[0][0] - t0 <= 7200:
            return c0 + (after[0][1] - c0) * (t - t0) / (after[0][0] - t0)
        left = (c0 - self.measured_air(t0)) * exp(-(t - t0) / 3600)
        return self.measured_air(t) + (left if t == t0 or abs(left) >= mpf("0.005") else 0)

    @staticmethod
    def depth(times, t):
        """The time to the nearer reading, where they are more than two hours apart, and whether it is the last."""
        i = bisect_right(times, t)
        if i == 0:
            return times[0] - t
        if i == len(times):
            return t - times[-1]
        return min(t - times[i - 1], times[i] - t) if times[i] - times[i - 1] > 7200 else mpf(0)

    def celsius(self, t):
        if not self.sign or t < self.times[0]:
            return self.film(t) + self.sign
        last = self.times[-1]
        if t >= last:
            error = film_error(BEHIND, mpf(1), mpf(1), mpf(0), -last, t - last)
        else:
            error = film_error(INSIDE, mpf(1), mpf("0.95"), mpf(0), mpf(0), self.depth(self.times, t))
        return self.film(t) + self.sign * error

    def damp_error(self, t, opposed=1):
        share = mpf("0.95") * opposed
        depth = self.depth([u for u, _ in self.damp], t)
        return film_error(INSIDE, mpf("0.04"), share * mpf("0.04"), share * mpf("0.025"), mpf(0), depth, mpf("0.2"))

    def humidity(self, t):
        """With its error, not kept within 0 to 100 %; the error is linear between the readings unless they are gaps of both."""
        humidity = self.line(self.damp, t)
        if not self.sign:
            return humidity
        i = bisect_right(self.times, t)
        if i == len(self.times):
            known = self.damp[-1][0]
            error = film_error(BEHIND, mpf("0.04"), self.opposed * mpf("0.04"), mpf("0.025"), -known, t - known,
                               mpf("0.2"))
        elif i == 0:
            error = self.damp_error(self.times[0])
        elif self.times[i] - self.times[i - 1] > 7200:
            error = self.damp_error(t, self.opposed)
        else:
            a, b = self.times[i - 1 : i + 1]
            error = self.line([(a, self.damp_error(a)), (b, self.damp_error(b))], t)
        return humidity + (-1 if self.case["cure"] == "drying" else 1) * self.sign * error

    def rate(self, t):
        celsius = self.celsius(t)
        humidity = self.humidity(t) if self.damp and self.case["cure"] != "reaction" else None
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
        humidity = None if humidity is None else min(max(humidity, mpf(0)), mpf(1))
        if self.case["cure"] == "drying" and humidity is not None:
            factor = (1 - humidity) / (1 - mpf(reference))
            factor = min(factor, mpf(1)) if self.case.get("minimum") else factor
        elif self.case["cure"] == "moisture" and humidity is not None:
            factor = humidity / mpf(reference)
        return factor / seconds * exp(-slope * (1 / kelvin - 1 / anchor))

    def kinks(self, t0, t1):
        """Where, between two corners, temperature or humidity passes a kink; by bisection in eight parts."""
        levels = [(self.celsius, mpf(c)) for c, _ in self.case["table"]]
        if self.case["stall_below"] is not None:
            levels.append((self.celsius, mpf(self.case["stall_below"])))
        if self.damp and self.case["cure"] != "reaction":
            levels += [(self.humidity, mpf(0)), (self.humidity, mpf(1))]
            levels.append((self.humidity, mpf(self.case["reference_humidity"])))
        steps = [t0 + (t1 - t0) * k / 8 for k in range(9)]
        for value, level in levels:
            found = [value(t) - level for t in steps]
            yield from (t for t, off in zip(steps, found) if off == 0)
            for low, high, first, last in zip(steps, steps[1:], found, found[1:]):
                if first * last < 0:
                    for _ in range(95):
                        middle = (low + high) / 2
                        low, high = (middle, high) if first * (value(middle) - level) > 0 else (low, middle)
                    yield low

    def progress_at(self, wanted):
        """The progress at each of the rising moments `wanted`, in one sweep."""
        last, final = self.times[-1], wanted[-1]
        corners = {mpf(0), *wanted} | {t for t in self.corners if 0 < t < final}
        if self.surface:  # it fades after the last reading too
            corners |= {t for k in range(100) if 0 < (t := last + mpf(450) * k) < final}
        if self.sign:  # where the errors bend
            knots = [mpf(3600) * h for h in HOURS]
            bends = [max(mpf(0), last) + knot for knot in knots] + [last + knot for knot in knots]
            if self.damp:
                bends += [max(mpf(0), self.damp[-1][0]) + knot for knot in knots]
            for a, b in zip(self.times, self.times[1:]):
                if b - a > 7200:
                    near = [knot for knot in knots if 2 * knot < b - a] + [(b - a) / 2]
                    bends += [a + s for s in near] + [b - s for s in near]
            corners |= {t for t in bends if 0 < t < final}
        corners = sorted(corners)
        cuts = set(corners)
        for t0, t1 in zip(corners, corners[1:]):
            cuts.update(self.kinks(t0, t1))
        cuts = sorted(cuts)
        total, found = mpf(0), {mpf(0): mpf(0)}
        for t0, t1 in zip(cuts, cuts[1:]):
            held = t0 >= max(last, mpf(0)) + (168 * 3600 if self.sign else 0)
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
