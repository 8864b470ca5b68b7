"""Writes dew_points.csv: dew points, below 0 degrees C frost points, by two independent libraries."""

from pathlib import Path

import psychrolib
from CoolProp.CoolProp import HAPropsSI

KELVIN = 273.15
PRESSURE = 101325  # Pa


def main():
    psychrolib.SetUnitSystem(psychrolib.SI)
    lines = ["temperature_c,relative_humidity,psychrolib_c,coolprop_c"]
    for celsius in range(-10, 41, 5):
        for percent in range(10, 101, 10):
            first = psychrolib.GetTDewPointFromRelHum(celsius, percent / 100)
            second = HAPropsSI("D", "T", celsius + KELVIN, "P", PRESSURE, "R", percent / 100) - KELVIN
            lines.append(f"{celsius},{percent},{first:.6f},{second:.6f}")
    Path(__file__).with_name("dew_points.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
