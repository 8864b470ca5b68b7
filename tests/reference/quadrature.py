"""How far a coat has cured, by adaptive quadrature.

    progress(t) = integral from the start to t of  h(RH) / time(T)

time(T) comes from a table of (degrees C, seconds): ln(time) is linear in 1/T, T in kelvin, and the
line of the end pair goes on beyond the ends. A table of one point uses an activation energy. Below
`stall_below` nothing progresses. Temperature and humidity are linear between the readings and held
before the first and after the last.

The way from the start is cut into pieces on which the integrand is smooth: at every reading, at
every temperature of the table and where the temperature passes `stall_below`. Each piece is
integrated on its own.
"""

import json
import math
from bisect import bisect_right
from dataclasses import dataclass

from scipy.integrate import quad
from scipy.optimize import brentq

GAS_CONSTANT = 8.314462618  # J/(mol K)
KELVIN = 273.15

# The error of a thermometer, and how it grows after the last reading.
THERMOMETER_ERROR = 1.0  # K
GROWTH = 0.5  # K per square root of an hour
GROWTH_LIMIT = 6.0  # K
GROWTH_SECONDS = 3600.0 * (GROWTH_LIMIT / GROWTH) ** 2  # then the limit is reached


class TimeTable:
    """A time that depends on the temperature."""

    def __init__(self, points, activation_energy):
        """`points`: [(degrees C, seconds)], rising; `activation_energy` in kJ/mol."""
        self.temperatures = [celsius for celsius, _ in points]
        inverse = [1.0 / (celsius + KELVIN) for celsius in self.temperatures]
        logs = [math.log(seconds) for _, seconds in points]
        if len(points) == 1:
            self.lines = [(inverse[0], logs[0], 1000.0 * activation_energy / GAS_CONSTANT)]
        else:
            self.lines = [
                (inverse[i], logs[i], (logs[i + 1] - logs[i]) / (inverse[i + 1] - inverse[i]))
                for i in range(len(points) - 1)
            ]

    def line(self, celsius):
        """The line in force at this temperature: (1/K of its anchor, ln time there, slope)."""
        return self.lines[bisect_right(self.temperatures[1:-1], celsius)]


@dataclass
class Piece:
    """A stretch on which temperature and humidity factor are linear in x, t = origin + x**power."""

    origin: float
    power: int
    x: tuple  # at both ends, as the next two
    celsius: tuple
    factor: tuple
    line: tuple | None  # of the time table; None: stalled

    def seconds(self):
        """When it begins and ends, in seconds from the start of the coat."""
        return tuple(self.origin + x**self.power for x in self.x)

    def progress(self, until=None):
        """The progress made on this piece, up to the moment `until`."""
        if self.line is None or self.factor == (0.0, 0.0):
            return 0.0
        x0, width = self.x[0], self.x[1] - self.x[0]
        c0, warming = self.celsius[0], self.celsius[1] - self.celsius[0]
        f0, rise = self.factor[0], self.factor[1] - self.factor[0]
        anchor, log_time, slope = self.line

        def integrand(u):  # u runs from 0 to 1 over the piece
            inverse = 1.0 / (c0 + warming * u + KELVIN)
            rate = math.exp(-log_time - slope * (inverse - anchor))
            seconds = self.power * (x0 + width * u) ** (self.power - 1) * width
            return (f0 + rise * u) * rate * seconds

        end = 1.0
        if until is not None:
            x = (until - self.origin) ** (1.0 / self.power)
            end = min(max((x - x0) / width, 0.0), 1.0)
        if end == 0.0:
            return 0.0
        return quad(integrand, 0.0, end, epsabs=0.0, epsrel=1e-12, limit=200)[0]


class Coat:
    """One coat over the readings of a place.

    `readings`: [(seconds from the start, degrees C, relative humidity 0..1 or None)], rising.
    `sign`: 0 for the temperatures as read, +1 or -1 for all of them raised or lowered by their error.
    """

    def __init__(self, readings, table, activation_energy, stall_below=None,
                 cure="reaction", reference_humidity=None, sign=0):
        self.table = TimeTable(table, activation_energy)
        self.stall_below = stall_below
        self.cure = cure
        self.reference_humidity = reference_humidity
        self.sign = sign
        self.values = []  # progress of the pieces, as far as it was asked for
        self.pieces = []
        self._lay_pieces(readings)

    def _factor(self, humidity):
        if self.cure == "drying":
            return max(0.0, (1.0 - humidity) / (1.0 - self.reference_humidity))
        if self.cure == "moisture":
            return humidity / self.reference_humidity
        return 1.0

    def _stalled(self, celsius):
        return self.stall_below is not None and celsius < self.stall_below

    def _lay_pieces(self, readings):
        shift = self.sign * THERMOMETER_ERROR
        corners = [(t, c + shift, self._factor(rh)) for t, c, rh in readings]
        first, last = corners[0], corners[-1]
        if first[0] > 0.0:
            corners.insert(0, (0.0, first[1], first[2]))
        for (t0, c0, f0), (t1, c1, f1) in zip(corners, corners[1:]):
            if t1 > 0.0:
                self._lay(t0, 1, (0.0, t1 - t0), (c0, c1), (f0, f1))

        end, celsius, factor = last
        if self.sign:  # linear in the square root of the time since the last reading
            growth = self.sign * GROWTH_LIMIT
            if end + GROWTH_SECONDS > 0.0:
                self._lay(end, 2, (0.0, math.sqrt(GROWTH_SECONDS)),
                          (celsius, celsius + growth), (factor, factor))
            end, celsius = end + GROWTH_SECONDS, celsius + growth
        self.held_from = max(end, 0.0)
        self.held_rate = 0.0
        if not self._stalled(celsius):
            anchor, log_time, slope = self.table.line(celsius)
            inverse = 1.0 / (celsius + KELVIN)
            self.held_rate = factor * math.exp(-log_time - slope * (inverse - anchor))

    def _lay(self, origin, power, x, celsius, factor):
        """Cuts one stretch where it starts to count and where the integrand has a kink."""
        def at(ends, u):
            return ends[0] + (ends[1] - ends[0]) * u

        begin = 0.0
        if origin + x[0]**power < 0.0:
            begin = ((-origin) ** (1.0 / power) - x[0]) / (x[1] - x[0])
        kinks = list(self.table.temperatures)
        if self.stall_below is not None:
            kinks.append(self.stall_below)
        cuts = {begin, 1.0}
        if celsius[0] != celsius[1]:
            for kink in kinks:
                u = (kink - celsius[0]) / (celsius[1] - celsius[0])
                if begin < u < 1.0:
                    cuts.add(u)
        cuts = sorted(cuts)
        for u0, u1 in zip(cuts, cuts[1:]):
            middle = at(celsius, 0.5 * (u0 + u1))
            self.pieces.append(Piece(
                origin, power,
                (at(x, u0), at(x, u1)),
                (at(celsius, u0), at(celsius, u1)),
                (at(factor, u0), at(factor, u1)),
                None if self._stalled(middle) else self.table.line(middle),
            ))

    def _value(self, i):
        while len(self.values) <= i:
            self.values.append(self.pieces[len(self.values)].progress())
        return self.values[i]

    def progress(self, until):
        """The progress from the start to `until` seconds; it goes on past 1."""
        parts = []
        for i, piece in enumerate(self.pieces):
            begin, end = piece.seconds()
            if end > until:
                if begin < until:
                    parts.append(piece.progress(until))
                return math.fsum(parts)
            parts.append(self._value(i))
        parts.append(self.held_rate * (until - self.held_from))
        return math.fsum(parts)

    def crossing(self, target):
        """The first moment at which the progress is `target`; None if it never is."""
        before = []
        for i, piece in enumerate(self.pieces):
            value = self._value(i)
            if math.fsum(before + [value]) >= target:
                done = math.fsum(before)
                begin, end = piece.seconds()
                begin = max(begin, 0.0)

                def missing(t):
                    return done + piece.progress(t) - target

                if missing(begin) >= 0.0:
                    return begin
                if missing(end) <= 0.0:
                    return end
                return brentq(missing, begin, end, xtol=1e-9, rtol=1e-15)
            before.append(value)
        if self.held_rate == 0.0:
            return None
        return self.held_from + (target - math.fsum(before)) / self.held_rate


def write_cases(path, cases):
    """A list of cases as JSON, one key a line. Numbers have as many digits as give them back exactly."""
    blocks = []
    for case in cases:
        lines = [f"    {json.dumps(key)}: {json.dumps(value, allow_nan=False)}" for key, value in case.items()]
        blocks.append("  {\n" + ",\n".join(lines) + "\n  }")
    path.write_text("[\n" + ",\n".join(blocks) + "\n]\n", encoding="utf-8")
