"""Writes spread.json: the earliest and latest crossing, under an error that grows after the last reading.

All temperatures are raised (earliest) or lowered (latest) by 1.0 K up to the last reading, and by
1.0 K + min(0.5 K sqrt(hours since it), 6 K) after it. With t = x**2 the temperature is linear in x.
"""

import random
import warnings
from pathlib import Path

from make_coats import HOUR, few, cold, days, levels, time_table, walk, with_humidity
from quadrature import Coat, write_cases

DAY = 24 * HOUR


def solved(name, readings, table, energy, stall=None, cure="reaction", reference=None):
    earliest, at, latest = (
        Coat(readings, table, energy, stall, cure, reference, sign).crossing(1.0) for sign in (1, 0, -1)
    )
    for sooner, later in ((earliest, at), (at, latest)):
        assert later is None or (sooner is not None and sooner <= later), name
    return {
        "name": name, "cure": cure, "activation_energy": energy, "table": table, "stall_below": stall,
        "reference_humidity": reference, "readings": readings, "start_s": 0,
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
