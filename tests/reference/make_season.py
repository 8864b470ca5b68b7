"""Writes seattle.csv, the daily extremes of four years, and season.json, the climate of dates by NumPy.

The climate of a date is the mean of an hour over the dates from ten before it to ten behind it, in all years at
once; a date is a month and a day, so that 29 February is a date of its own that most years do not have. Vapour is
averaged as pressure (WMO-No. 8, Annex 4.B). How far the hours of those days strayed from these means: the absolute
value of rank round(0.9 * (n - 1)), and the correlation of both about the means.
"""

import csv
import json
import sys
from importlib.resources import files
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
AROUND = 10


def seattle():
    rows = (files("vega_datasets") / "_data" / "seattle-weather.csv").read_text(encoding="utf-8").splitlines()
    days = [(row["date"].replace("/", "-"), row["temp_min"], row["temp_max"]) for row in csv.DictReader(rows)]
    assert len(days) == 1461 and days[0][0] == "2012-01-01" and days[-1][0] == "2015-12-31"
    with (HERE / "seattle.csv").open("w", encoding="utf-8", newline="") as out:
        out.write("date,least_c,most_c\n")
        out.writelines(f"{date},{least},{most}\n" for date, least, most in days)


def read(name):
    with (HERE / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def year():
    """The typical year as 2021, hour by hour."""
    rows = read("year.csv")
    hours = np.datetime64("2021-01-01T00", "h") + np.arange(len(rows))
    air = np.array([float(row["temperature_c"]) for row in rows])
    damp = np.array([float(row["relative_humidity"]) for row in rows]) / 100
    return hours, air, damp * 6.112 * np.exp(17.62 * air / (243.12 + air))


def four_years():
    """The least of each day at 13 h, the most at 23 h (5 and 15 h of the sun), straight between. No damp."""
    rows = read("seattle.csv")
    days = np.array([row["date"] for row in rows], dtype="datetime64[D]").astype("datetime64[h]")
    known = np.concatenate([days + 13, days + 23]).astype(np.int64)
    values = np.array([float(row["least_c"]) for row in rows] + [float(row["most_c"]) for row in rows])
    order = np.argsort(known)
    hours = np.arange(known.min(), known.max() + 1)
    air = np.interp(hours, known[order], values[order])
    return hours.astype("datetime64[h]"), air, np.full(len(air), np.nan)


def labels(hours):
    return np.array([day[5:] for day in np.datetime_as_string(hours.astype("datetime64[D]"))])


def climate(series, date):
    hours, air, vapour = series
    # Any leap year will do to count the dates by.
    centre = np.datetime64(f"2012-{date}")
    dates = np.datetime_as_string(centre + np.arange(-AROUND, AROUND + 1))
    inside = np.isin(labels(hours), [day[5:] for day in dates])
    of_day = hours.astype("datetime64[h]").astype(np.int64) % 24
    mean = np.array([air[inside & (of_day == hour)].mean() for hour in range(24)])
    damp = np.array([vapour[inside & (of_day == hour)].mean() for hour in range(24)])
    off = air[inside] - mean[of_day[inside]]
    wet = vapour[inside] - damp[of_day[inside]]
    far = lambda values: float(np.sort(np.abs(values))[int(np.floor(0.9 * (len(values) - 1) + 0.5))])
    known = not np.isnan(damp).any()
    return {
        "date": date,
        "air": mean.tolist(),
        "air_strays": far(off),
        "vapour": damp.tolist() if known else None,
        "vapour_strays": far(wet) if known else None,
        "together": float((off * wet).sum() / np.sqrt((off**2).sum() * (wet**2).sum())) if known else None,
    }


def main():
    # The csv is written only where its source is at hand; the rest needs NumPy alone.
    if "--data" in sys.argv:
        seattle()
    dates = ["01-01", "01-07", "02-19", "02-28", "02-29", "03-01", "03-29", "06-21", "09-30", "11-25", "12-25", "12-31"]
    cases = {"year": [climate(year(), d) for d in dates], "seattle": [climate(four_years(), d) for d in dates]}
    text = json.dumps(cases).replace('{"date"', '\n{"date"')
    (HERE / "season.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
