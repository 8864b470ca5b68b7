"""Writes shops.json and shop_year.csv: temperatures inside of made-up unheated shops, outside as in year.csv.

shops.json: one heat store, tau * dT/dt = T_out + gain - T, with the noise of a thermometer: what a fit has to
give back. By scipy.signal.lsim, exact for an outside that runs straight between the hours.

shop_year.csv: a year of a shop that is not so simple, so that a model of one heat store is wrong in its own
way: air and walls apart, sun through a window and on the roof (the global horizontal irradiance of the same
hours of the same weather file), a door left open now and then, somebody at work on some days, and the noise
of a thermometer that shows tenths.
"""

import csv
import json
from pathlib import Path

import numpy as np
import pvlib
from scipy.signal import lsim

HERE = Path(__file__).parent
HOURS = 8760


def outside():
    with open(HERE / "year.csv", encoding="utf-8") as rows:
        return np.array([float(row["temperature_c"]) for row in csv.DictReader(rows)])


def sun():
    """W/m2 on the level, hour by hour."""
    path = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    with open(path, encoding="utf-8") as lines:
        next(lines)
        return np.array([float(row["GHI (W/m^2)"]) for row in csv.DictReader(lines)])


def one_store(outdoors, tau, gain, start):
    system = ([[-1 / tau]], [[1 / tau]], [[1.0]], [[0.0]])
    return lsim(system, outdoors + gain, np.arange(len(outdoors)), X0=[start])[1]


def simple_shops(outdoors, dice):
    shops = []
    for number in range(24):
        tau = [1.0, 3.0, 8.0, 20.0][number % 4]
        gain = [0.0, 2.5, -1.0][number % 3]
        noise = [0.1, 0.3][number % 2]
        days = [5, 10, 20][number // 8]
        begin = int(dice.integers(0, HOURS - days * 24))
        part = outdoors[begin:begin + days * 24]
        inside = one_store(part, tau, gain, part[:6].mean() + gain) + dice.normal(0, noise, len(part))
        shops.append({
            "tau_h": tau, "gain_k": gain, "noise_k": noise, "start_hour": begin,
            "inside_c": [round(float(celsius), 2) for celsius in inside],
        })
    return shops


def year_of_a_shop(outdoors, irradiance, dice):
    """Air and walls: two heat stores, in steps of one minute."""
    minutes = 60
    air, walls, inside = outdoors[0] + 2, outdoors[0] + 2, []
    door = 1.0
    for hour in range(HOURS):
        inside.append(air)
        if hour % 24 in range(9, 18) and dice.random() < 0.08:
            door = 4.0
        elif dice.random() < 0.4:
            door = 1.0
        at_work = 1.5 if hour // 24 % 7 in (5, 6) and 9 <= hour % 24 < 17 and dice.random() < 0.7 else 0.0
        following = outdoors[min(hour + 1, HOURS - 1)]
        for minute in range(minutes):
            out = outdoors[hour] + (following - outdoors[hour]) * minute / minutes
            to_air = door * (out - air) / 2.0 + (walls - air) / 0.7 + irradiance[hour] / 350 + at_work
            to_walls = (air - walls) / 6.0 + (out - walls) / 9.0 + irradiance[hour] / 1500
            air, walls = air + to_air / minutes, walls + to_walls / minutes
    return np.array(inside) + dice.normal(0, 0.15, HOURS)


def main():
    outdoors, dice = outside(), np.random.default_rng(5)
    lines = ",\n".join(json.dumps(shop) for shop in simple_shops(outdoors, dice))
    (HERE / "shops.json").write_text(f"[\n{lines}\n]\n", encoding="utf-8")
    inside = year_of_a_shop(outdoors, sun(), dice)
    rows = "".join(f"{hour},{celsius:.1f}\n" for hour, celsius in enumerate(inside))
    (HERE / "shop_year.csv").write_text(f"hour,inside_c\n{rows}", encoding="utf-8")


if __name__ == "__main__":
    main()
