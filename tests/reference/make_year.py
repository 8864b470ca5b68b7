"""Writes year.csv, the hourly weather of a typical year, and year.json, coats over it."""

import csv
import random
import warnings
from importlib.resources import files
from pathlib import Path

from quadrature import Coat, write_cases

HERE = Path(__file__).parent
HOUR = 3600
TABLES = [
    ("one point", [[20, 16 * HOUR]]),
    ("two points", [[10, 72 * HOUR], [20, 30 * HOUR]]),
    ("three points", [[5, 240 * HOUR], [15, 96 * HOUR], [30, 28 * HOUR]]),
]


def weather():
    """(degrees C, relative humidity in percent) of every hour, as published."""
    text = (files("pvlib") / "data" / "723170TYA.CSV").read_text(encoding="utf-8")
    station, *rows = text.splitlines()
    assert station.startswith("723170,")
    hours = [(float(row["Dry-bulb (C)"]), float(row["RHum (%)"])) for row in csv.DictReader(rows)]
    assert len(hours) == 8760
    return hours


def main():
    warnings.simplefilter("error")
    hours = weather()
    with (HERE / "year.csv").open("w", encoding="utf-8", newline="") as out:
        out.write("hour,temperature_c,relative_humidity\n")
        for hour, (celsius, percent) in enumerate(hours):
            out.write(f"{hour},{celsius:.1f},{percent:.0f}\n")

    dice = random.Random(1988)
    # One start in each fortieth of the year; the last two run past its end.
    starts = [dice.randrange(219 * i, 219 * (i + 1)) for i in range(38)] + [8735, 8757]
    cases = []
    for number, start in enumerate(starts):
        kind, table = TABLES[number % 3]
        cure = "drying" if number % 4 == 3 else "reaction"
        stall = dice.choice([None, None, 2.0, 5.0, 8.0]) if start < 8700 else None
        if start == 8757:
            stall = 10.0  # the year ends colder than that
        readings = [((hour - start) * HOUR, celsius, percent / 100)
                    for hour, (celsius, percent) in enumerate(hours)]
        reference = 0.5 if cure == "drying" else None
        coat = Coat(readings, table, 51.2, stall, cure, reference)
        crossing = coat.crossing(1.0)
        span = crossing or 5 * 24 * HOUR
        probes = sorted(round(span * dice.uniform(low, low + 0.4)) for low in (0.1, 0.5, 0.9))
        cases.append({
            "name": f"{number + 1:02} from hour {start}, {kind}, {cure}",
            "cure": cure,
            "activation_energy": 51.2,
            "table": table,
            "stall_below": stall,
            "reference_humidity": reference,
            "start_hour": start,
            "probes": [[t, coat.progress(t)] for t in probes],
            "crossing_s": crossing,
        })
    write_cases(HERE / "year.json", cases)


if __name__ == "__main__":
    main()
