"""Writes lag.json: a first-order lag over air that runs straight between its readings, by scipy.signal.lsim.

lag * dy/dt = u - y, from y = u at the first reading. lsim takes the input as straight between its samples and
is exact for that; it needs evenly spaced samples, so the readings are laid on a grid of one minute first.
"""

import json
import random
from pathlib import Path

import numpy as np
from scipy.signal import lsim

MINUTE = 60


def readings(dice, hours, gaps):
    """(minute, degrees C), walking at random around a day and a night."""
    minute, walk, found = 0, 0.0, []
    while minute <= hours * 60:
        day = 6 * np.sin(2 * np.pi * minute / 1440)
        found.append([minute, round(12 + day + walk, 2)])
        walk = 0.9 * walk + dice.gauss(0, 0.7)
        minute += dice.choice(gaps)
    return found


def case(name, dice, hours, gaps, lag_minutes):
    points = readings(dice, hours, gaps)
    last = points[-1][0]
    grid = np.arange(0, last + 1)
    air = np.interp(grid, *zip(*points))
    _, surface, _ = lsim(([[-1 / lag_minutes]], [[1 / lag_minutes]], [[1.0]], [[0.0]]), air, grid, X0=[air[0]])
    probes = sorted(dice.sample(range(1, last), 20)) + [last]
    return {
        "name": name,
        "lag_s": lag_minutes * MINUTE,
        "air": [[minute * MINUTE, celsius] for minute, celsius in points],
        "followed": [[minute * MINUTE, round(float(surface[minute]), 12)] for minute in probes],
    }


def main():
    dice = random.Random(3)
    cases = [
        case("a thin panel, a logger every five minutes", dice, 48, [5], 10),
        case("a door, a reading every hour", dice, 72, [60], 45),
        case("a hull, at odd times", dice, 96, [1, 7, 30, 55, 240], 60),
        case("a casting, thrice a day", dice, 24 * 7, [360, 480, 600], 300),
        case("a shed, every hour", dice, 24 * 7, [60], 240),
        case("a stone house, every hour", dice, 24 * 14, [60], 3000),
        case("a forecast of six-hour steps", dice, 24 * 9, [360], 150),
    ]
    text = ",\n".join(json.dumps(each, ensure_ascii=False) for each in cases)
    Path(__file__).with_name("lag.json").write_text(f"[\n{text}\n]\n", encoding="utf-8")


if __name__ == "__main__":
    main()
