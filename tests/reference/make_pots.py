"""Writes pots.json: batches that warm themselves, and pot lives that kinetics have to give again.

The model: a is the share of the working life used, T the temperature of the batch in kelvin, t the time in seconds.
    da/dt = k(T)
    dT/dt = W k(T) - (T - T_air(t)) / tau
from a = 0 on; usable until a = 1. ln k runs straight over 1/T between the points (and on beyond the ends; a table of one
point takes its slope from an activation energy). tau = 26 min (mass / 100 g)^(1/3) in a cup; 128 s for each millimetre
in a tray, and never more than in a cup. "outruns" is the first moment at which T rises and T - T_air > R T^2 / E. Behind
a = 1 the rate is k (4 - a) / 3, and "left" is the warmest it gets until it falls for the first time (48 h at most).

By scipy.integrate.solve_ivp over the time, with events, from bend to bend of the air; calibrations by scipy.optimize.
"""

import json
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, fsolve

HERE = Path(__file__).parent
R = 8.314462618
ZERO = 273.15
REACTION = 4.0
TIGHT = {"method": "DOP853", "rtol": 1e-12, "atol": [1e-13, 1e-10]}


class Rate:
    """k in 1/s from [[degrees Celsius, seconds], ...]; kJ/mol for a table of one point."""

    def __init__(self, life, energy=51.2):
        self.x = [1 / (celsius + ZERO) for celsius, _ in life]
        self.y = [np.log(seconds) for _, seconds in life]
        self.energy = energy * 1000 / R

    def piece(self, kelvin):
        if len(self.x) == 1:
            return self.y[0] - self.energy * self.x[0], self.energy
        index = 0
        while index + 2 < len(self.x) and 1 / kelvin < self.x[index + 1]:
            index += 1
        slope = (self.y[index + 1] - self.y[index]) / (self.x[index + 1] - self.x[index])
        return self.y[index] - slope * self.x[index], slope

    def __call__(self, kelvin):
        intercept, slope = self.piece(kelvin)
        return np.exp(-intercept - slope / kelvin)

    def e_fold(self, kelvin):
        return kelvin * kelvin / self.piece(kelvin)[1]


def tau(mass_g, depth_mm):
    cup = 26 * 60 * (mass_g / 100) ** (1 / 3)
    return cup if depth_mm is None else min(cup, 128.0 * depth_mm)


def stretches(air, begin):
    """(from, to, kelvin, slope) of the air's straight parts from `begin` on; the last one is 48 h long or more."""
    for (t0, c0), (t1, c1) in zip(air, air[1:]):
        if t1 > begin:
            slope = (c1 - c0) / (t1 - t0)
            start = max(t0, begin)
            yield start, t1, c0 + slope * (start - t0) + ZERO, slope
    start = max(begin, air[-1][0])
    yield start, start + 1e8, air[-1][1] + ZERO, 0.0


def fate(rate, warming, cooling, air, start):
    """Seconds until a = 1, the warmest by then, the temperature then, when its heat outruns the cooling, "left"."""
    state = [0.0, (air[0][1] if start is None else start) + ZERO]
    peak, outruns, end = state[1], None, None
    for begin, stop, kelvin, slope in stretches(air, 0.0):
        def over_time(t, y):
            k = rate(y[1])
            return [k, warming * k - (y[1] - kelvin - slope * (t - begin)) / cooling]

        def through(_, y):
            return y[0] - 1

        through.terminal = True

        def turns(t, y):
            return over_time(t, y)[1]

        def outrun(t, y):
            return y[1] - kelvin - slope * (t - begin) - rate.e_fold(y[1])

        run = solve_ivp(over_time, (begin, stop), state, events=[through, turns, outrun], dense_output=True, **TIGHT)
        peak = max([peak, run.y[1].max()] + [y[1] for y in run.y_events[1]])
        for t in sorted([begin, *run.t_events[1], *run.t_events[2]]):
            soon = min(t + 1e-3, run.t[-1])
            if outruns is None and outrun(soon, run.sol(soon)) > 0 and turns(soon, run.sol(soon)) > 0:
                outruns = float(t)
        state = run.y[:, -1]
        if run.t_events[0].size:
            end = run.t[-1]
            break
    at_end, left = state[1], peak
    state = [1.0, at_end]
    for begin, stop, kelvin, slope in stretches(air, end):
        def left_over_time(t, y):
            k = rate(y[1]) * min(max((REACTION - y[0]) / (REACTION - 1), 0), 1)
            return [k, warming * k - (y[1] - kelvin - slope * (t - begin)) / cooling]

        def falls(t, y):
            return left_over_time(t, y)[1]

        falls.terminal, falls.direction = True, -1
        if left_over_time(begin, state)[1] < 0:
            break
        run = solve_ivp(left_over_time, (begin, min(stop, end + 48 * 3600)), state, events=falls, **TIGHT)
        left = max(left, run.y[1].max())
        state = run.y[:, -1]
        if run.t_events[0].size or stop >= end + 48 * 3600:
            break
    return end, peak - ZERO, at_end - ZERO, outruns, left - ZERO


def air_of(kind, dice, hours):
    """Points [seconds, degrees Celsius]."""
    base = float(dice.uniform(8, 28))
    if kind == "steady":
        return [[0.0, round(base, 3)]]
    if kind == "ramp":
        to = base + float(dice.uniform(-10, 12))
        return [[0.0, round(base, 3)], [round(hours * 3600 * float(dice.uniform(0.3, 1.2))), round(to, 3)]]
    if kind == "sine":
        swing, phase = float(dice.uniform(2, 8)), float(dice.uniform(0, 2 * np.pi))
        minutes = np.arange(0, 36 * 60 + 1, 20)
        wave = base + swing * np.sin(2 * np.pi * minutes / 1440 + phase)
        return [[float(m * 60), round(float(c), 3)] for m, c in zip(minutes, wave)]
    walk, points = base, []
    for step in range(40):
        points.append([float(step * 420), round(walk, 3)])
        walk += float(dice.normal(0, 1.2))
    return points


def cases(dice):
    out = []
    kinds = ["steady", "ramp", "sine", "walk"]
    for number in range(60):
        hours = [0.4, 1.2, 3.0, 6.0][number // 4 % 4]
        life = [[10.0, hours * 3600 * 2.1], [20.0, hours * 3600], [30.0, hours * 3600 / 2.3]]
        life = [[c, round(s * float(dice.uniform(0.97, 1.03)), 1)] for c, s in life]
        if number % 10 == 9:
            life = [life[1]]
        energy = round(float(dice.uniform(35, 70)), 2)
        warming = [12.0, 30.0, 55.0, 90.0, 0.0][number % 5]
        mass = round(float(10 ** dice.uniform(1.5, 3.7)), 1)
        depth = [None, None, 4.0, 12.0, 30.0][number // 2 % 5]
        start = None if number % 3 else round(float(dice.uniform(5, 35)), 2)
        air = air_of(kinds[number % 4], dice, hours)
        end, peak, at_end, outruns, left = fate(Rate(life, energy), warming, tau(mass, depth), air, start)
        out.append({
            "life": life, "activation_energy": energy, "warming_k": warming, "mass_g": mass, "depth_mm": depth,
            "start_c": start, "air": air,
            "usable_s": end, "peak_c": peak, "at_end_c": at_end, "outruns_s": outruns, "left_c": left,
        })
    return out


def pot_life(rate, warming, mass, celsius):
    """Seconds in a cup, everything as warm as that to begin with; over a, for speed."""
    cooling, air = tau(mass, None), celsius + ZERO

    def over_use(_, y):
        k = rate(y[1])
        return [1 / k, warming - (y[1] - air) / (cooling * k)]

    return solve_ivp(over_use, (0, 1), [0, air], method="DOP853", rtol=1e-11, atol=[1e-8, 1e-9]).y[0, -1]


def calibrate(mass, table, warming):
    """The working lives without warming by which the table comes out."""
    times = np.array([seconds for _, seconds in table])

    def misses(ln):
        rate = Rate([[c, np.exp(y)] for (c, _), y in zip(table, ln)])
        return [np.log(pot_life(rate, warming, mass, c) / s) for c, s in table]

    found, _, ok, what = fsolve(misses, np.log(times), full_output=True, xtol=1e-12)
    assert ok == 1, what
    return [[c, float(np.exp(y))] for (c, _), y in zip(table, found)]


def calibrations():
    minutes = lambda table: [[c, m * 60.0] for c, m in table]
    tables = [
        (100.0, minutes([(15, 125), (20, 75), (30, 32)]), 30.0), (100.0, minutes([(15, 125), (20, 75), (30, 32)]), 70.0),
        (200.0, minutes([(10, 420), (20, 180), (30, 80)]), 25.0), (500.0, minutes([(20, 40)]), 50.0),
        (1000.0, minutes([(5, 500), (15, 260), (25, 120), (35, 55)]), 40.0), (100.0, minutes([(25, 20)]), 60.0),
        (50.0, minutes([(10, 60), (30, 12)]), 90.0), (500.0, minutes([(10, 300), (20, 180), (30, 90)]), 12.0),
    ]
    one = [{"mass_g": m, "table": t, "warming_k": w, "life": calibrate(m, t, w)} for m, t, w in tables]
    pairs = [
        (100.0, minutes([(15, 125), (20, 75), (30, 32)]), 500.0, minutes([(15, 95), (20, 60), (30, 28)])),
        (200.0, minutes([(10, 420), (20, 180), (30, 80)]), 1000.0, minutes([(10, 380), (20, 160), (30, 75)])),
        (150.0, minutes([(10, 70), (25, 25)]), 600.0, minutes([(20, 31)])),
    ]
    two = []
    for mass, table, other, others in pairs:
        def mean(warming):
            rate = Rate(calibrate(mass, table, warming))
            return np.mean([np.log(pot_life(rate, warming, other, c) / s) for c, s in others])

        warming = brentq(mean, 1.0, 120.0, xtol=1e-9)
        two.append({
            "mass_g": mass, "table": table, "other_mass_g": other, "other_table": others, "warming_k": warming,
            "life": calibrate(mass, table, warming),
        })
    return one, two


def main():
    one, two = calibrations()
    whole = {"batches": cases(np.random.default_rng(20260502)), "calibrations": one, "fits": two}
    rows = {key: ",\n  ".join(json.dumps(row) for row in value) for key, value in whole.items()}
    text = ",\n".join(f'"{key}": [\n  {value}\n]' for key, value in rows.items())
    (HERE / "pots.json").write_text("{\n" + text + "\n}\n", encoding="utf-8")
    warm = [case["peak_c"] for case in whole["batches"]]
    runaway = sum(case["outruns_s"] is not None for case in whole["batches"])
    print(f"{len(warm)} batches, {min(warm):.0f} to {max(warm):.0f} degrees at their peak, {runaway} outrun their cooling")


if __name__ == "__main__":
    main()
