"""How far a coat has cured, by adaptive quadrature.

    progress(t) = integral from the start to t of  h(RH) / time(T)

time(T) comes from a table of (degrees C, seconds): ln(time) is linear in 1/T, T in kelvin, and the
line of the end pair goes on beyond the ends. A table of one point uses an activation energy. Below
`stall_below` nothing progresses. Temperature and humidity are linear between the readings and held
before the first and after the last. h is limited to its values at 0 and 100 % of humidity and, for the
minimum time of a drying film, to 1.

Errors (`sign` +1 or -1): every temperature is off by 1.0 K, every humidity by 4 %. After the last reading, and in
gaps of more than two hours with the time to the nearer reading, they grow as `film_error` says; the humidity by its
share of the same growth and a drift of its own, from the readings that carry a humidity. Between the knots of the
growth, and between readings, an error is linear. It errs to the quick side of the film where the temperature is
raised, else to the slow side; where humidity counts, each error counts for less (`BOTH`).

A film has the temperature of the surface where that was measured (fourth value of a reading): linear
between measured values at most two hours apart; after the last one the difference d to the air is
d exp(-t/lag) at points lag/8 apart, linear between, until it is below 0.005 K.

The way from the start is cut into pieces on which the integrand is smooth: at every reading, in the
middle of every gap, at every temperature of the table and where the temperature passes `stall_below` or
h meets a limit. Each piece is integrated on its own.
"""

import json
import math
from bisect import bisect_right
from dataclasses import dataclass

from scipy.integrate import quad
from scipy.optimize import brentq

GAS_CONSTANT = 8.314462618  # J/(mol K)
KELVIN = 273.15

HOUR = 3600.0
THERMOMETER_ERROR = 1.0  # K
HYGROMETER_ERROR = 0.04
HUMIDITY_PER_KELVIN = 0.04
HUMIDITY_MOST = 0.2
HUMIDITY_DRIFT = 0.025  # per square root of an hour
BETWEEN = 0.95  # of the growth, in a gap
OPPOSED = 0.3  # of the growth of the humidity's error, for a film that damp quickens
BOTH = {"reaction": 1.0, "drying": 0.93, "moisture": 0.82}
NO_GAP = 2 * 3600.0
LAG = 3600.0  # of a surface behind the air
FADED = 0.005  # K
KNOTS = [*range(13), 15, 18, 21, 24, 30, 36, 42, 48, 60, 72, 96, 120, 144, 168]  # h
SWING, DRIFT, DRIFT_LIMIT = 8.0, 0.68, 8.0  # K, K per square root of an hour, K


def together(one, other):
    """(error, mean error, what the sum of the mean gains), of two that know nothing of each other."""
    mean = math.hypot(one[1], other[1])
    gain = (one[1] * one[2] + other[1] * other[2]) / mean if mean else 0.0
    return math.hypot(one[0], other[0]), mean, gain


def walk(step, hours):
    """A random walk: the mean of its way has 1/sqrt(3) of the deviation of its end."""
    end = step * math.sqrt(hours)
    return end, end / math.sqrt(3.0), 1.5 * end / math.sqrt(3.0)


def swing(hours):
    """The first half day of a sine; then its end stays, and the mean gains 0.6 of it."""
    if hours == 0:
        return 0.0, 0.0, 0.0
    if hours <= 12:
        end = SWING * math.sin(math.pi * hours / 24)
        return end, SWING * 24 / math.pi * (1 - math.cos(math.pi * hours / 24)) / hours, end
    return SWING, (SWING * 24 / math.pi + 0.6 * SWING * (hours - 12)) / hours, 0.6 * SWING


def at_knot(hours):
    drift = walk(DRIFT, hours)
    if drift[0] >= DRIFT_LIMIT:
        drift = DRIFT_LIMIT, DRIFT_LIMIT / math.sqrt(3.0), DRIFT_LIMIT / math.sqrt(3.0)
    return together(swing(hours), drift)


GROWTH = [at_knot(hours) for hours in KNOTS]
# In a gap nothing shrinks with time.
GROWTH_IN_GAP = [tuple(max(g[i] for g in GROWTH[:n + 1]) for i in range(3)) for n in range(len(KNOTS))]


def growth(table, seconds):
    """How far the temperature may have moved away from a reading, linear between the knots, in kelvin."""
    hours = seconds / HOUR
    i = bisect_right(KNOTS, hours)
    if i == len(KNOTS):
        return table[-1]
    share = (hours - KNOTS[i - 1]) / (KNOTS[i] - KNOTS[i - 1])
    return tuple(a + (b - a) * share for a, b in zip(table[i - 1], table[i]))


def film_error(steady, scale, drift, start, seconds, table=GROWTH, most=math.inf):
    """What a film that begins `start` seconds after a reading adds to its error, linear between its own knots."""
    start = max(start, 0.0)
    since = max(seconds - start, 0.0) / HOUR
    grown = lambda s: together([scale * x for x in growth(table, s)], walk(drift, s / HOUR))

    def exact(hours):
        fixed = math.hypot(steady, grown(start)[0])
        _, mean, gain = grown(hours * HOUR)
        whole = (fixed * fixed + mean * gain) / math.hypot(fixed, mean)
        return min(whole, math.hypot(steady, grown(start + hours * HOUR)[0]), most)

    i = bisect_right(KNOTS, since)
    if i == len(KNOTS):
        return exact(KNOTS[-1])
    first, last = exact(KNOTS[i - 1]), exact(KNOTS[i])
    return first + (last - first) * (since - KNOTS[i - 1]) / (KNOTS[i] - KNOTS[i - 1])


def damp_error_in_gap(depth, share=1.0):
    share *= BETWEEN
    return film_error(HYGROMETER_ERROR, share * HUMIDITY_PER_KELVIN, share * HUMIDITY_DRIFT, 0.0, depth,
                      GROWTH_IN_GAP, HUMIDITY_MOST)


def filled(readings):
    """The readings with a humidity and its error each; without any, None for both."""
    known = [(t, rh) for t, _, rh, *_ in readings if rh is not None]
    found = []
    for t, celsius, *_ in readings:
        if not known:
            found.append((t, celsius, None, 0.0))
            continue
        before = [k for k in known if k[0] <= t]
        after = [k for k in known if k[0] >= t]
        if before and after:
            (t0, h0), (t1, h1) = before[-1], after[0]
            humidity = h0 if t1 == t0 else h0 + (h1 - h0) * (t - t0) / (t1 - t0)
            depth = min(t - t0, t1 - t) if t1 - t0 > NO_GAP else 0.0
        else:
            nearest = before[-1] if before else after[0]
            humidity, depth = nearest[1], abs(t - nearest[0])
        found.append((t, celsius, humidity, damp_error_in_gap(depth)))
    return found


def filmed(readings, nodes):
    """The nodes with the temperature of the film, and how much warmer than the air it is after the last."""
    measured = [(r[0], r[3]) for r in readings if len(r) > 3 and r[3] is not None]
    if not measured:
        return nodes, []

    def air(t):
        i = max(bisect_right([n[0] for n in nodes], t), 1)
        a, b = nodes[i - 1], nodes[min(i, len(nodes) - 1)]
        u = 0.0 if a is b else (t - a[0]) / (b[0] - a[0])
        return tuple(None if x is None else x + (y - x) * u for x, y in zip(a[1:], b[1:]))

    def fading(t, offset):
        count = math.ceil(8 * max(0.0, math.log(abs(offset) / FADED))) if offset else 0
        return [t + LAG * k / 8 for k in range(1, count + 1)]

    def film(t):
        before = [m for m in measured if m[0] <= t]
        after = [m for m in measured if m[0] > t]
        if not before:
            return air(t)[0]
        (t0, c0) = before[-1]
        if t > t0 and after and after[0][0] - t0 <= NO_GAP:
            return c0 + (after[0][1] - c0) * (t - t0) / (after[0][0] - t0)
        left = (c0 - air(t0)[0]) * math.exp(-(t - t0) / LAG)
        return air(t)[0] + (left if abs(left) >= FADED or t == t0 else 0.0)

    times, last = {n[0] for n in nodes}, nodes[-1][0]
    for (t, celsius), after in zip(measured, measured[1:] + [(math.inf, 0)]):
        if after[0] - t > NO_GAP:
            times |= {f for f in fading(t, celsius - air(t)[0]) if f < min(last, after[0])}
    # Up to a measured value the film goes straight from the reading before.
    for t, _ in measured:
        before = [n[0] for n in nodes if n[0] < t]
        faded = [f for f in times if before and before[-1] < f < t]
        assert not faded or [m for m in measured if m[0] <= before[-1]]
    line = [(t, film(t)) + air(t)[1:] for t in sorted(times)]
    left = film(last) - air(last)[0]
    back = [(0.0, left)] + [(t, left * math.exp(-t / LAG)) for t in fading(0.0, left)]
    back[-1] = (back[-1][0], 0.0)
    return line, back if len(back) > 1 else []


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
    """A stretch t = origin + side * x**power on which the integrand is smooth."""

    origin: float
    power: int
    side: int  # -1: towards the origin
    x: tuple  # at both ends
    celsius: object  # of t
    factor: object  # of t
    line: tuple | None  # of the time table; None: stalled

    def at(self, x):
        return self.origin + self.side * x**self.power

    def seconds(self):
        """When it begins and ends, in seconds from the start of the coat."""
        return tuple(self.at(x) for x in self.x)

    def progress(self, until=None):
        """The progress made on this piece, up to the moment `until`."""
        if self.line is None:
            return 0.0
        x0, width = self.x[0], self.x[1] - self.x[0]
        anchor, log_time, slope = self.line

        def integrand(u):  # u runs from 0 to 1 over the piece
            x = x0 + width * u
            t = self.at(x)
            inverse = 1.0 / (self.celsius(t) + KELVIN)
            rate = math.exp(-log_time - slope * (inverse - anchor))
            return self.factor(t) * rate * self.side * self.power * x ** (self.power - 1) * width

        end = 1.0
        if until is not None:
            x = max(self.side * (until - self.origin), 0.0) ** (1.0 / self.power)
            end = min(max((x - x0) / width, 0.0), 1.0)
        if end == 0.0 or (integrand(end / 3) == 0.0 and integrand(end / 1.7) == 0.0):
            return 0.0
        return quad(integrand, 0.0, end, epsabs=0.0, epsrel=1e-12, limit=200)[0]


class Coat:
    """One coat over the readings of a place.

    `readings`: [(seconds from the start, degrees C, relative humidity 0..1 or None, surface or None)], rising.
    `sign`: 0 for the values as measured, +1 or -1 for all of them on the quick or on the slow side.
    """

    def __init__(self, readings, table, activation_energy, stall_below=None,
                 cure="reaction", reference_humidity=None, sign=0, minimum=False):
        self.table = TimeTable(table, activation_energy)
        self.stall_below = stall_below
        self.cure = cure
        self.reference_humidity = reference_humidity
        known = any(r[2] is not None for r in readings)
        self.sign = sign * (BOTH[cure] if known else 1.0)
        self.opposed = OPPOSED if cure == "moisture" else 1.0
        self.most = 1.0 if minimum and cure == "drying" else self._free(0.0 if cure == "drying" else 1.0)
        self.values = []  # progress of the pieces, as far as it was asked for
        self.pieces = []
        self._lay_pieces(readings)

    def _free(self, humidity, error=0.0):
        """h before it is limited."""
        if humidity is None or self.cure == "reaction":
            return 1.0
        if self.cure == "drying":
            return (1.0 - (humidity - self.sign * error)) / (1.0 - self.reference_humidity)
        return (humidity + self.sign * error) / self.reference_humidity

    def _limited(self, factor):
        return min(max(factor, 0.0), self.most)

    def _stalled(self, celsius):
        return self.stall_below is not None and celsius < self.stall_below

    def _lay_pieces(self, readings):
        nodes = filled(readings)
        gaps = [(a[0], b[0]) for a, b in zip(nodes, nodes[1:]) if b[0] - a[0] > NO_GAP]
        film, back = filmed(readings, nodes)
        shift = self.sign * THERMOMETER_ERROR
        first, last = film[0], nodes[-1]
        if first[0] > 0.0:
            factor = self._free(first[2], first[3])
            self._lay(0.0, 1, 1, (0.0, first[0]), lambda t: first[1] + shift, lambda t: factor)
        for a, b in zip(film, film[1:]):
            gap = next((g for g in gaps if g[0] <= a[0] and b[0] <= g[1]), None)
            if b[0] <= 0.0 and (gap is None or gap[1] <= 0.0):
                continue
            if gap is None or not self.sign:
                self._lay_line(a, b)
                continue
            half = (gap[1] - gap[0]) / 2
            near = [HOUR * knot for knot in KNOTS if HOUR * knot < half] + [half]
            bends = [gap[0] + s for s in near] + [gap[1] - s for s in near]
            cuts = sorted({a[0], b[0]} | {t for t in bends if a[0] < t < b[0]})
            for t0, t1 in zip(cuts, cuts[1:]):
                self._lay_gap(a, b, gap, t0, t1)
        self._lay_behind(readings, last, back)

    def _between(self, a, b, t):
        u = (t - a[0]) / (b[0] - a[0])
        return tuple(None if x is None else x + (y - x) * u for x, y in zip(a[1:], b[1:]))

    def _lay_line(self, a, b):
        shift = self.sign * THERMOMETER_ERROR
        self._lay(a[0], 1, 1, (0.0, b[0] - a[0]),
                  lambda t: self._between(a, b, t)[0] + shift,
                  lambda t: self._free(*self._between(a, b, t)[1:]))

    def _lay_gap(self, a, b, gap, t0, t1):
        def ends(t):
            depth = min(t - gap[0], gap[1] - t)
            celsius, humidity, _ = self._between(a, b, t)
            error = film_error(THERMOMETER_ERROR, BETWEEN, 0.0, 0.0, depth, GROWTH_IN_GAP)
            return celsius + self.sign * error, self._free(humidity, damp_error_in_gap(depth, self.opposed))

        self._lay_straight((t0, ends(t0)), (t1, ends(t1)))

    def _lay_straight(self, one, other):
        (t0, first), (t1, last) = one, other
        line = lambda i: lambda t: first[i] + (last[i] - first[i]) * (t - t0) / (t1 - t0)
        self._lay(t0, 1, 1, (0.0, t1 - t0), line(0), line(1))

    def _lay_behind(self, readings, last, back):
        last_seconds, held, humidity = last[:3]
        begun = -last_seconds  # the film starts at 0
        known = [r[0] for r in readings if r[2] is not None]
        aged = last_seconds - known[-1] if known else 0.0

        def offset(t):
            i = bisect_right([p[0] for p in back], t)
            if i == 0 or i == len(back):
                return 0.0
            (s0, o0), (s1, o1) = back[i - 1], back[i]
            return o0 + (o1 - o0) * (t - s0) / (s1 - s0)

        def ends(s):
            error = damp = 0.0
            if self.sign:
                error = film_error(THERMOMETER_ERROR, 1.0, 0.0, begun, s)
                damp = film_error(HYGROMETER_ERROR, self.opposed * HUMIDITY_PER_KELVIN, HUMIDITY_DRIFT,
                                  begun + aged, s + aged, most=HUMIDITY_MOST)
            return held + offset(s) + self.sign * error, self._free(humidity, damp)

        corners = {0.0} | {s for s, _ in back}
        if self.sign:
            corners |= {max(begun, 0.0) + HOUR * knot for knot in KNOTS}
            corners |= {max(begun + aged, 0.0) - aged + HOUR * knot for knot in KNOTS}
        corners = sorted(s for s in corners if s >= 0.0)
        for s0, s1 in zip(corners, corners[1:]):
            if last_seconds + s1 > 0.0:
                self._lay_straight((last_seconds + s0, ends(s0)), (last_seconds + s1, ends(s1)))
        celsius, factor = ends(corners[-1])
        end = last_seconds + corners[-1]

        self.held_from = max(end, 0.0)
        self.held_rate = 0.0
        if not self._stalled(celsius):
            anchor, log_time, slope = self.table.line(celsius)
            inverse = 1.0 / (celsius + KELVIN)
            self.held_rate = self._limited(factor) * math.exp(-log_time - slope * (inverse - anchor))

    def _lay(self, origin, power, side, x, celsius, factor):
        """Cuts one stretch where it starts to count and where the integrand has a kink."""
        at = lambda x: origin + side * x**power
        if at(x[1]) <= 0.0:
            return
        begin = x[0]
        if at(x[0]) < 0.0:
            begin = max(side * -origin, 0.0) ** (1.0 / power)
        kinks = [(celsius, level) for level in self.table.temperatures]
        if self.stall_below is not None:
            kinks.append((celsius, self.stall_below))
        kinks += [(factor, 0.0), (factor, self.most)]
        cuts = {begin, x[1]}
        steps = [begin + (x[1] - begin) * k / 64 for k in range(65)]
        for value, level in kinks:
            missing = lambda x: value(at(x)) - level
            for one, other in zip(steps, steps[1:]):
                if missing(one) * missing(other) < 0.0:
                    cuts.add(brentq(missing, one, other, xtol=1e-13, rtol=1e-15))
                elif missing(other) == 0.0:
                    cuts.add(other)
        cuts = sorted(cuts, reverse=x[1] < begin)
        for x0, x1 in zip(cuts, cuts[1:]):
            middle = celsius(at(0.5 * (x0 + x1)))
            self.pieces.append(Piece(
                origin, power, side, (x0, x1), celsius,
                lambda t: self._limited(factor(t)),
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
