"""Writes spread.json: the earliest and latest crossing, under the errors that quadrature.py describes.

The errors grow after the last reading and in gaps of more than two hours. With t = x**2, x the root of the
time to the nearer reading, temperature and humidity are of second degree in x.
"""

import random
import warnings
from pathlib import Path

from make_coats import HOUR, few, cold, days, levels, time_table, walk, with_humidity
from quadrature import Coat, write_cases

DAY = 24 * HOUR


def solved(name, readings, table, energy, stall=None, cure="reaction", reference=None, minimum=False):
    earliest, at, latest = (
        Coat(readings, table, energy, stall, cure, reference, sign, minimum).crossing(1.0) for sign in (1, 0, -1)
    )
    for sooner, later in ((earliest, at), (at, latest)):
        assert later is None or (sooner is not None and sooner <= later), name
    return {
        "name": name, "cure": cure, "activation_energy": energy, "table": table, "stall_below": stall,
        "reference_humidity": reference, "minimum": minimum,
        "readings": [(list(r) + [None, None])[:4] for r in readings], "start_s": 0,
        "earliest_s": earliest, "at_s": at, "latest_s": latest,
    }


def chosen_cases():
    one, two = [[20, 16 * HOUR]], [[10, 20 * HOUR], [20, 9 * HOUR]]
    three = [[5, 40 * HOUR], [15, 18 * HOUR], [25, 7 * HOUR]]
    week = [[20, 7 * DAY]]
    single = [[0, 18.0, None]]
    return [
        ("one reading, at the start", single, one, 51.2),
        ("one reading, hours before the start", [[-5 * HOUR, 18.0, None]], one, 51.2),
        ("the last reading is so old that the error has stopped growing", [[-200 * HOUR, 18.0, None]], two, 60.0),
        ("a week to go: the error stops growing on the way", single, week, 60.0),
        ("the only reading lies after the start", [[6 * HOUR, 14.0, None]], three, 60.0),
        ("all done before the last reading", [[0, 15.0, None], [9 * HOUR, 24.0, None], [60 * HOUR, 21.0, None]],
         three, 60.0),
        ("only the lowered temperature stalls, at once", [[0, 8.6, None]], two, 60.0, 8.0),
        ("only the lowered temperature stalls, as the error grows", [[0, 10.5, None]], three, 60.0, 8.0),
        ("done before the lowered temperature stalls", [[0, 12.0, None]], three, 60.0, 8.0),
        ("only the raised temperature wakes, as the error grows", [[0, 5.0, None]], three, 60.0, 8.0),
        ("all stall, and none wakes", [[0, 0.5, None], [HOUR, 0.0, None]], three, 60.0, 8.0),
        ("raised just above the stall temperature", [[0, 7.01, None], [90 * HOUR, 7.01, None]], three, 60.0, 8.0),
        ("readings two hours apart to the second leave no gap",
         [[2 * HOUR * k, 12.0 + k, None] for k in range(12)], three, 60.0),
        ("readings a second more apart leave gaps",
         [[(2 * HOUR + 1) * k, 12.0 + k, None] for k in range(12)], three, 60.0),
        ("one reading an evening", [[DAY * k - 9 * HOUR, 14.0 + 2 * (k % 3), None] for k in range(5)], two, 60.0),
        ("one reading an evening, and the cold stalls the lowered night",
         [[DAY * k - 9 * HOUR, 10.0 + k, None] for k in range(6)], three, 60.0, 8.0),
        ("a gap so long that the error stops growing", [[-HOUR, 9.0, None], [400 * HOUR, 13.0, None]], week, 51.2),
        ("the start lies in the second half of a gap", [[-20 * HOUR, 9.0, None], [5 * HOUR, 19.0, None]], two, 60.0),
        ("dries at 55 % and 4 %", [[HOUR * k, 18.0, 0.55] for k in range(40)], one, 51.2, None, "drying", 0.5),
        ("a minimum time has no credit from dry air", [[HOUR * k, 18.0, 0.2 + 0.02 * k] for k in range(40)],
         one, 51.2, None, "drying", 0.5, True),
        ("a maximum time has it", [[HOUR * k, 18.0, 0.2 + 0.02 * k] for k in range(40)],
         one, 51.2, None, "drying", 0.5, False),
        ("saturated with its error, it dries later", [[2 * HOUR * k, 18.0, 0.99 - 0.03 * k] for k in range(20)],
         one, 51.2, None, "drying", 0.5, True),
        ("only the damper air never dries it", [[0, 20.0, 0.97], [2 * HOUR, 20.0, 0.97]],
         one, 51.2, None, "drying", 0.5, True),
        ("moisture within 4 % of saturation", [[HOUR * k, 20.0, 0.9 + 0.01 * (k % 10)] for k in range(40)],
         one, 51.2, None, "moisture", 0.5, True),
        ("moisture within 4 % of none", [[HOUR * k, 20.0, 0.01 * (k % 10)] for k in range(400)],
         [[20, HOUR]], 51.2, None, "moisture", 0.5, True),
        ("dries through gaps", [[9 * HOUR * k, 16.0 + 3 * (k % 2), 0.6 + 0.05 * (k % 3)] for k in range(9)],
         two, 60.0, None, "drying", 0.5, True),
        ("moisture through gaps", [[9 * HOUR * k, 16.0 + 3 * (k % 2), 0.6 + 0.05 * (k % 3)] for k in range(9)],
         two, 60.0, None, "moisture", 0.5, True),
        ("the humidity before the coat is the last one", [[-2 * HOUR, 20.0, 0.8], [-HOUR, 20.0, None]],
         one, 51.2, None, "drying", 0.5, True),
        ("every fifth reading carries a humidity",
         [[HOUR * k, 17.0 + k % 4, 0.4 + 0.05 * (k % 7) if k % 5 == 0 else None] for k in range(33)],
         two, 60.0, None, "drying", 0.5, True),
        ("the first humidity comes late",
         [[HOUR * k, 17.0, 0.6 if k > 6 else None] for k in range(33)], two, 60.0, None, "drying", 0.5, True),
        ("a cold surface at every reading", [[HOUR * k, 20.0, None, 12.0 + k % 3] for k in range(40)], two, 60.0),
        ("a surface every second hour", [[HOUR * k, 20.0, None, None if k % 2 else 9.0 + k] for k in range(40)],
         two, 60.0),
        ("a surface measured once, before the coat", [[-HOUR, 20.0, None, 6.0], [0, 20.5, None]], one, 51.2),
        ("a surface measured once, at the last reading", [[0, 20.0, None], [HOUR, 20.5, None, 35.0]], two, 60.0),
        ("a surface in the sun, then none measured",
         [[0, 20.0, None, 45.0], [5 * HOUR, 24.0, None], [9 * HOUR, 15.0, None]], two, 60.0),
        ("a surface below the stall, in warmer air", [[HOUR * k, 12.0, None, 5.0 + k / 4] for k in range(60)],
         two, 60.0, 8.0),
    ]


def drawn_cases(dice):
    shapes = (few, walk, days, levels, cold)
    for number in range(13):
        shape, count = shapes[number % 5], number % 3 + 1
        record = shape(dice)[:40]
        begin = dice.randint(1, record[-1][0] // 2)
        record = [(t - begin, celsius) for t, celsius in record]
        last = record[-1][0]
        cure = {5: "drying", 8: "moisture", 12: "drying"}.get(number, "reaction")
        readings = [[t, celsius, None] for t, celsius in record]
        if cure != "reaction":
            readings = with_humidity(dice, record)
        stall = dice.choice([1.0, 3.0, 4.5]) if shape is cold else None
        yield (f"{shape.__name__}, {count}-point table, {cure}", readings,
               time_table(dice, count, max(last, 6 * HOUR) * dice.uniform(0.3, 2.5)),
               round(dice.uniform(30, 110), 1), stall, cure, None if cure == "reaction" else 0.5)


def main():
    warnings.simplefilter("error")
    drafts = chosen_cases() + list(drawn_cases(random.Random(11)))
    cases = [solved(f"{number:02} {name}", *rest) for number, (name, *rest) in enumerate(drafts, start=1)]
    write_cases(Path(__file__).with_name("spread.json"), cases)


if __name__ == "__main__":
    main()
