"""Writes coats.json: coats over irregular readings, their progress and when they reach 25, 50 and 100 %."""

import math
import random
import warnings
from pathlib import Path

from quadrature import GAS_CONSTANT, KELVIN, Coat, write_cases

HOUR = 3600
DAY = 24 * HOUR
COLDEST, WARMEST = -5.0, 40.0
STANDARD = [(5, 15, 25), (10, 20, 30), (0, 12, 35), (8, 23, 30)]  # temperatures of data sheets


def clamp(celsius):
    return round(min(max(celsius, COLDEST), WARMEST), 2)


def log_uniform(dice, low, high):
    return math.exp(dice.uniform(math.log(low), math.log(high)))


def moments(dice, count, shortest, longest):
    """Whole seconds with irregular gaps."""
    t, found = 0, [0]
    for _ in range(count - 1):
        t += max(1, round(log_uniform(dice, shortest, longest)))
        found.append(t)
    return found


# Shapes of a temperature record: [(seconds, degrees C)].

def few(dice):
    return [(t, clamp(dice.uniform(COLDEST, WARMEST))) for t in moments(dice, dice.randint(2, 6), HOUR, 5 * DAY)]


def walk(dice):
    celsius, record = dice.uniform(8, 25), []
    for t in moments(dice, dice.randint(20, 120), 20, 2 * HOUR):
        celsius = clamp(celsius + dice.gauss(0, 1.2))
        record.append((t, celsius))
    return record


def days(dice):
    mean, swing, phase = dice.uniform(6, 24), dice.uniform(2, 12), dice.uniform(0, DAY)
    return [
        (t, clamp(mean + swing * math.sin(2 * math.pi * (t + phase) / DAY) + dice.gauss(0, 0.3)))
        for t in moments(dice, dice.choice([60, 150, 300]), 5 * 60, 3 * HOUR)
    ]


def jumps(dice):
    """A door that opens, a heater that comes on: levels with edges of seconds."""
    t, record = 0, []
    for _ in range(dice.randint(4, 15)):
        level = clamp(dice.uniform(COLDEST, WARMEST))
        record.append((t, level))
        t += dice.randint(10 * 60, 9 * HOUR)
        record.append((t, clamp(level + dice.gauss(0, 0.2))))
        t += dice.randint(1, 20)
    return record


def levels(dice):
    """A coarse thermometer: many readings repeat the one before."""
    celsius, record = clamp(dice.randint(5, 25)), []
    for t in moments(dice, dice.randint(15, 60), 60, 6 * HOUR):
        if dice.random() < 0.3:
            celsius = clamp(celsius + dice.choice([-1.0, -0.5, 0.5, 1.0, 3.0, -3.0]))
        record.append((t, celsius))
    return record


def cold(dice):
    """Nights below the stall temperature."""
    phase = dice.uniform(0, DAY)
    return [
        (t, clamp(5 + 7 * math.sin(2 * math.pi * (t + phase) / DAY) + dice.gauss(0, 0.8)))
        for t in moments(dice, dice.randint(20, 90), HOUR // 4, 8 * HOUR)
    ]


def zigzag(dice):
    """Every segment passes every temperature of the table."""
    return [
        (t, clamp(dice.uniform(COLDEST, 4) if i % 2 else dice.uniform(31, WARMEST)))
        for i, t in enumerate(moments(dice, dice.randint(4, 40), 40, 20 * HOUR))
    ]


def bursts(dice):
    """A few readings a second or so apart, then none for days."""
    t, record = 0, []
    for _ in range(dice.randint(3, 10)):
        celsius = dice.uniform(0, 32)
        for _ in range(dice.randint(1, 12)):
            record.append((t, clamp(celsius + dice.gauss(0, 1))))
            t += dice.randint(1, 10)
        t += round(log_uniform(dice, HOUR, 4 * DAY))
    return record


def ramp(dice):
    low, high = dice.uniform(COLDEST, 10), dice.uniform(20, WARMEST)
    if dice.random() < 0.5:
        low, high = high, low
    times = moments(dice, dice.randint(2, 9), HOUR, 9 * HOUR)
    return [(t, clamp(low + (high - low) * t / times[-1])) for t in times]


SHAPES = [few, walk, days, jumps, levels, cold, zigzag, bursts, ramp]


def tidy(seconds):
    """As a data sheet would say it."""
    return max(60, 60 * round(seconds / 60)) if seconds > 600 else max(30, round(seconds))


def time_table(dice, count, seconds):
    """`count` points around `seconds` at a middling temperature."""
    if count == 1:
        return [[dice.choice([15, 20, 20, 23]), tidy(seconds)]]
    temperatures = dice.choice(STANDARD)
    if count == 2:
        temperatures = dice.choice([temperatures[:2], temperatures[1:], temperatures[::2]])
    points = [[temperatures[0], tidy(seconds * dice.uniform(1.0, 2.5))]]
    for low, high in zip(temperatures, temperatures[1:]):
        energy = dice.uniform(30e3, 110e3)
        faster = math.exp(energy / GAS_CONSTANT * (1 / (low + KELVIN) - 1 / (high + KELVIN)))
        points.append([high, tidy(points[-1][1] / faster)])
    assert all(b[1] < a[1] for a, b in zip(points, points[1:])), points
    return points


def with_humidity(dice, record):
    humidity, readings = dice.uniform(0.3, 0.9), []
    for t, celsius in record:
        humidity = min(max(humidity + dice.gauss(0, 0.08), 0.15), 1.0)
        readings.append([t, celsius, round(humidity, 3)])
    return readings


def drawn_case(dice, shape, count, cure):
    record = shape(dice)
    last = record[-1][0]
    # The coat starts between readings, at one, before the first or (seldom) after the last.
    begin = dice.choice([
        dice.randint(1, last // 3), dice.randint(1, last // 3), record[len(record) // 3][0],
        0, -dice.randint(600, 10 * HOUR), last + HOUR if dice.random() < 0.3 else 0,
    ])
    record = [(t - begin, celsius) for t, celsius in record]
    span = max(record[-1][0], 8 * HOUR)

    if cure != "reaction" or dice.random() < 0.2:  # a reaction does not heed humidity
        readings = with_humidity(dice, record)
    else:
        readings = [[t, celsius, None] for t, celsius in record]

    stall = None
    if shape is cold or dice.random() < 0.4:
        ranked = sorted(celsius for _, celsius in record)
        quarter, half = ranked[len(ranked) // 4], ranked[len(ranked) // 2]
        stall = round(2 * dice.uniform(quarter, half)) / 2

    case = {
        "name": f"{shape.__name__}, {count}-point table, {cure}",
        "cure": cure,
        "activation_energy": round(dice.uniform(30, 110), 1),
        "table": time_table(dice, count, span * dice.uniform(0.15, 0.9)),
        "stall_below": stall,
        "reference_humidity": None if cure == "reaction" else dice.choice([0.5, 0.5, 0.4, 0.6]),
        "readings": readings,
    }
    at_reading = dice.choice([t for t, _ in record if t > 0] or [HOUR])
    probes = [dice.randint(1, span) for _ in range(4)]
    return solved(case, probes + [at_reading, span + round(log_uniform(dice, 60, 3 * DAY))])


def chosen_cases():
    """Cases with a point of their own."""
    def case(name, readings, table, probes, energy=60.0, stall=None, cure="reaction", reference=None):
        return solved({
            "name": name, "cure": cure, "activation_energy": energy, "table": table, "stall_below": stall,
            "reference_humidity": reference,
            "readings": [(list(r) + [None])[:3] for r in readings],
        }, probes)

    hour_at_20 = [[20, HOUR]]
    three = [[5, 40 * HOUR], [15, 18 * HOUR], [25, 7 * HOUR]]
    return [
        # at 10 h, by the exponential integral: 12.55066163733720755
        case("the ramp that has a closed form", [(0, 5.0), (10 * HOUR, 35.0)], hour_at_20,
             [HOUR, 4 * HOUR, 5 * HOUR, 9 * HOUR, 10 * HOUR, 11 * HOUR]),
        case("level at the temperature of the table", [(0, 20.0), (HOUR, 20.0), (3 * HOUR, 20.0)], hour_at_20,
             [900, 1800, HOUR, 2 * HOUR, 3 * HOUR, 30 * HOUR]),
        case("level exactly at the stall temperature: it progresses", [(0, 8.0), (HOUR, 8.0)], three,
             [60, HOUR, 10 * HOUR, 50 * HOUR], stall=8.0),
        case("level just below the stall temperature: it never does", [(0, 7.99), (HOUR, 7.99)], three,
             [60, HOUR, 10 * HOUR, 50 * HOUR], stall=8.0),
        case("stalls for good within a segment", [(0, 22.0), (12 * HOUR, -4.0)], three,
             [HOUR, 5 * HOUR, 7 * HOUR, 12 * HOUR, 90 * HOUR], stall=6.0),
        case("wakes from a stall within a segment", [(0, -4.0), (12 * HOUR, 22.0)], three,
             [HOUR, 5 * HOUR, 7 * HOUR, 12 * HOUR, 90 * HOUR], stall=6.0),
        case("every reading lies before the start", [(-9 * HOUR, 12.0), (-2 * HOUR, 17.5)], three,
             [1, HOUR, 10 * HOUR, 40 * HOUR]),
        case("every reading lies after the start", [(30 * HOUR, 11.0), (31 * HOUR, 25.0)], three,
             [1, HOUR, 30 * HOUR, 31 * HOUR, 40 * HOUR]),
        case("a table point lies on the readings", [(0, 15.0), (5 * HOUR, 25.0), (9 * HOUR, 15.0), (20 * HOUR, 5.0)],
             three, [HOUR, 5 * HOUR, 9 * HOUR, 20 * HOUR, 40 * HOUR]),
        case("a week from end to end of the range", [(0, -5.0), (7 * DAY, 40.0)], three,
             [HOUR, DAY, 3 * DAY, 7 * DAY, 9 * DAY], stall=3.5),
        case("dries into saturated air that stays", [(0, 18.0, 0.6), (6 * HOUR, 16.0, 1.0)], three,
             [HOUR, 3 * HOUR, 6 * HOUR, 60 * HOUR], cure="drying", reference=0.5),
        case("dries out of saturated air", [(0, 16.0, 1.0), (3 * HOUR, 16.0, 1.0), (9 * HOUR, 20.0, 0.4)], three,
             [HOUR, 4 * HOUR, 9 * HOUR, 60 * HOUR], cure="drying", reference=0.5),
        case("wants moisture, and the air turns dry", [(0, 18.0, 0.5), (6 * HOUR, 22.0, 0.0)], three,
             [HOUR, 3 * HOUR, 6 * HOUR, 60 * HOUR], cure="moisture", reference=0.5),
    ]


def solved(case, probes):
    coat = Coat(case["readings"], case["table"], case["activation_energy"], case["stall_below"],
                case["cure"], case["reference_humidity"])
    case["start_s"] = 0
    case["probes"] = [[t, coat.progress(t)] for t in sorted(set(probes))]
    case["crossings"] = [[p, coat.crossing(p)] for p in (0.25, 0.5, 1.0)]
    return case


def main():
    warnings.simplefilter("error")  # a quadrature that is not sure of itself
    dice = random.Random(2024)
    cases = chosen_cases()
    for shape in SHAPES:
        for count in (1, 2, 3):
            humid = ("drying", "moisture")[(SHAPES.index(shape) + count) % 2]
            for cure in ("reaction", "reaction", humid):
                cases.append(drawn_case(dice, shape, count, cure))
    for number, case in enumerate(cases, start=1):
        case["name"] = f"{number:02} {case['name']}"
    write_cases(Path(__file__).with_name("coats.json"), cases)


if __name__ == "__main__":
    main()
