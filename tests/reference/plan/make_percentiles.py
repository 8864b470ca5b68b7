#!/usr/bin/env python3
"""Percentiles of drawn ends by NumPy (numpy.percentile, method "linear"), for the same draws.

    python3 make_percentiles.py > percentiles.json
"""

import json

import numpy as np

rng = np.random.default_rng(5)
cases = []
for count in (1, 2, 3, 10, 11, 100, 999, 1000):
    seconds = np.sort(rng.integers(0, 60 * 86_400, count))
    found = {str(p): float(np.percentile(seconds, p, method="linear")) for p in (0, 10, 50, 90, 97.5, 100)}
    cases.append({"seconds": seconds.tolist(), "percentiles": found})
print(json.dumps(cases))
