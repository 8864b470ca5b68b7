"""Writes attic.json: how the air of the attic in attic.csv follows the weather, found with SciPy.

tau * dy/dt = u + gain - y over the whole record, y the temperature (degrees C) or the vapour pressure (hPa, by
6.112 exp(17.62 t / (243.12 + t)) and the relative humidity) inside, u outside: tau, gain and the start by
least squares of the free run. Prints, for fits of the free run and of single steps and for the reading held,
the error that nine in ten predictions stay below.
"""

import csv
import json
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares
from scipy.signal import lsim

HERE = Path(__file__).parent
AHEAD = (1, 3, 6, 12, 24, 48)


def run(u, tau, gain, start):
    system = ([[-1 / tau]], [[1 / tau]], [[1.0]], [[0.0]])
    return lsim(system, u + gain, np.arange(len(u)), X0=[start])[1]


def free_run(y, u):
    first = min((least_squares(lambda p: run(u, np.exp(p[0]), p[1], p[2]) - y, [np.log(tau), 0, y[0]], xtol=1e-12)
                 for tau in (0.3, 2, 12)), key=lambda fit: fit.cost)
    return float(np.exp(first.x[0])), float(first.x[1])


def step(y, u, tau, gain):
    """One hour on from every y: the closed form for a straight input."""
    decay = np.exp(-1 / tau)
    reached = 1 - tau * (1 - decay)
    return y[:-1] * decay + (u[:-1] + gain) * (1 - decay) + (u[1:] - u[:-1]) * reached


def single_steps(y, u):
    fit = min((least_squares(lambda p: step(y, u, np.exp(p[0]), p[1]) - y[1:], [np.log(tau), 0])
               for tau in (0.3, 2, 12)), key=lambda fit: fit.cost)
    return float(np.exp(fit.x[0])), float(fit.x[1])


def along(y, u, tau, gain, hours):
    """What is foretold so many hours on from every y."""
    foretold = y[: len(y) - hours].copy()
    for hour in range(hours):
        window = u[hour: hour + len(foretold) + 1]
        decay = np.exp(-1 / tau)
        reached = 1 - tau * (1 - decay)
        foretold = foretold * decay + (window[:-1] + gain) * (1 - decay) + (window[1:] - window[:-1]) * reached
    return foretold


def main():
    with open(HERE / "attic.csv", encoding="utf-8") as rows:
        table = [[float(row[name]) for name in ("inside_c", "inside_rh", "outside_c", "outside_rh")]
                 for row in csv.DictReader(rows)]
    inside, inside_rh, outside, outside_rh = np.array(table).T
    saturation = lambda celsius: 6.112 * np.exp(17.62 * celsius / (243.12 + celsius))
    lines = {
        "temperature": (inside, outside),
        "vapour": (inside_rh / 100 * saturation(inside), outside_rh / 100 * saturation(outside)),
    }
    found = {}
    for name, (y, u) in lines.items():
        tau, gain = free_run(y, u)
        found[name] = {"tau_h": round(tau, 6), "gain": round(gain, 6)}
        by_steps = single_steps(y, u)
        print(f"{name}: free run tau {tau:.3f} h, gain {gain:.3f}; single steps {by_steps[0]:.3f} h, {by_steps[1]:.3f}")
        for hours in AHEAD:
            free, steps = (
                np.quantile(np.abs(y[hours:] - along(y, u, *fit, hours)), 0.9) for fit in ((tau, gain), by_steps)
            )
            held = np.quantile(np.abs(y[hours:] - y[:-hours]), 0.9)
            print(f"  {hours:2} h ahead: free run {free:.2f}, single steps {steps:.2f}, held {held:.2f}")
    (HERE / "attic.json").write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
