"""Recurrences by other people's code: dateutil for the rules, recurring-ical-events for a whole calendar.

Checks rfc5545.txt, typed from the RFC, against dateutil; writes rules.json and events.json.
"""

import datetime
import itertools
import json
import random
import signal
from pathlib import Path
from zoneinfo import ZoneInfo

import icalendar
import recurring_ical_events
from dateutil.rrule import rrulestr

HERE = Path(__file__).parent
NEW_YORK = ZoneInfo("America/New_York")
BERLIN = ZoneInfo("Europe/Berlin")
FORM = "%Y%m%dT%H%M%S"


def listed(text):
    """The repetitions of an example, and whether it goes on."""
    found = []
    for part in text.removesuffix("...").split(";"):
        when, *rest = part.split()
        if when.count("-") == 2:
            found += [datetime.datetime.fromisoformat(f"{when} {time}") for time in rest]
            continue
        for days in rest:
            first, _, last = days.partition("-")
            for day in range(int(first), int(last or first) + 1):
                found.append(datetime.datetime.fromisoformat(f"{when}-{day:02} 09:00"))
    return found, text.endswith("...")


def check_the_rfc():
    blocks = [b.splitlines() for b in (HERE / "rfc5545.txt").read_text().split("\n\n")]
    examples = 0
    for title, *lines in (b for b in blocks if not b[0].startswith("#")):
        values = {line.split(":", 1)[0]: line.split(":", 1)[1] for line in lines if ":" in line.split("=")[0]}
        start = datetime.datetime.strptime(values["DTSTART"], FORM).replace(tzinfo=NEW_YORK)
        expected, goes_on = listed(next(line[2:] for line in lines if line.startswith("= ")))
        rule = rrulestr(values["RRULE"], dtstart=start)
        found = list(itertools.islice(rule, len(expected) + 1))
        found = [at.replace(tzinfo=None) for at in found]
        same = found[: len(expected)] == expected and (len(found) > len(expected)) == goes_on
        assert same, f"{title}: {found}"
        examples += 1
    print(f"rfc5545.txt: {examples} examples, as dateutil has them")


DAYS = ["MO", "TU", "WE", "TH", "FR", "SA", "SU"]


def rule_of(rng):
    def some(values, most=3):
        values = list(values)
        return ",".join(str(value) for value in rng.sample(values, rng.randint(1, most)))

    often = ["YEARLY"] * 3 + ["MONTHLY"] * 4 + ["WEEKLY"] * 4 + ["DAILY"] * 3 + ["HOURLY", "MINUTELY", "SECONDLY"]
    freq = rng.choice(often)
    parts = [f"FREQ={freq}"]
    if rng.random() < 0.4:
        parts.append(f"INTERVAL={rng.choice([1, 2, 3, 4, 5, 10, 18])}")
    if rng.random() < 0.3:
        parts.append("BYMONTH=" + some(range(1, 13)))
    if freq != "WEEKLY" and rng.random() < 0.25:
        parts.append("BYMONTHDAY=" + some([*range(1, 32), *range(-31, 0)]))
    if freq == "YEARLY" and rng.random() < 0.15:
        parts.append("BYYEARDAY=" + some([*range(1, 367), *range(-366, 0)]))
    weeks = freq == "YEARLY" and rng.random() < 0.15
    if weeks:
        parts.append("BYWEEKNO=" + some([*range(1, 54), *range(-53, 0)]))
    if rng.random() < 0.5:
        if freq in ("MONTHLY", "YEARLY") and not weeks and rng.random() < 0.6:
            ordinals = ["1", "2", "-1", "3", "-2", "4"]
            days = [rng.choice(ordinals) + day for day in rng.sample(DAYS, rng.randint(1, 2))]
        else:
            days = rng.sample(DAYS, rng.randint(1, 4))
        parts.append("BYDAY=" + ",".join(days))
    if rng.random() < 0.15:
        parts.append("BYHOUR=" + some(range(24)))
    if rng.random() < 0.1:
        parts.append("BYMINUTE=" + some(range(60)))
    if freq == "SECONDLY":
        parts.append("BYSECOND=" + some(range(60)))
    if rng.random() < 0.12 and any(part.startswith("BY") for part in parts):
        parts.append("BYSETPOS=" + some([1, 2, -1, 3, -2], 2))
    if rng.random() < 0.2:
        parts.append("WKST=" + rng.choice(DAYS))
    if rng.random() < 0.2:
        parts.append(f"COUNT={rng.randint(2, 30)}")
    return ";".join(parts)


class TooSlow(Exception):
    pass


def too_slow(*_):
    raise TooSlow


def make_rules(count, first=12):
    """Rules by lot, each from a start that it falls on, and where it falls in ten years from there."""
    signal.signal(signal.SIGALRM, too_slow)
    rng = random.Random(5545)
    rules = []
    while len(rules) < count:
        rule = rule_of(rng)
        year, month, day = rng.randint(1995, 2026), rng.randint(1, 12), rng.randint(1, 28)
        start = datetime.datetime(year, month, day, rng.randint(0, 23), rng.choice([0, 30, 15, 7]))
        signal.setitimer(signal.ITIMER_REAL, 2)
        try:
            start = next(iter(rrulestr(rule, dtstart=start)), None)
            end = start and start.replace(year=start.year + 10, day=min(start.day, 28))
            found = start and list(itertools.islice(rrulestr(rule, dtstart=start), first))
        except (TooSlow, ValueError):
            continue
        finally:
            signal.setitimer(signal.ITIMER_REAL, 0)
        # A position in a set that the start has cut off may leave the start itself out.
        if not found or found[0] != start or start.year > 2040:
            continue
        found = [at for at in found if at < end]
        rules.append({"rule": rule, "starts": [at.strftime(FORM) for at in found], "more": len(found) == first})
    lines = ",\n".join(json.dumps(rule) for rule in rules)
    (HERE / "rules.json").write_text(f"[\n{lines}\n]\n")
    print(f"rules.json: {len(rules)} rules")


def make_events():
    calendar = icalendar.Calendar.from_ical((HERE / "events.ics").read_bytes())
    begin, end = datetime.datetime(2026, 3, 1, tzinfo=BERLIN), datetime.datetime(2026, 11, 1, tzinfo=BERLIN)

    def moment(at):
        if not isinstance(at, datetime.datetime):
            at = datetime.datetime.combine(at, datetime.time())
        at = at if at.tzinfo else at.replace(tzinfo=BERLIN)
        return at.astimezone(datetime.timezone.utc).strftime("%Y-%m-%dT%H:%M:%SZ")

    events = []
    for event in recurring_ical_events.of(calendar).between(begin, end):
        if event.get("TRANSP") == "TRANSPARENT" or event.get("STATUS") == "CANCELLED":
            continue
        events.append([moment(event.start), moment(event.end), str(event["SUMMARY"])])
    events = sorted(events)
    lines = ",\n".join(json.dumps(event) for event in events)
    span = json.dumps([moment(begin), moment(end)])
    (HERE / "events.json").write_text(f'{{"span": {span},\n"busy": [\n{lines}\n]}}\n')
    print(f"events.json: {len(events)} busy times")


check_the_rfc()
make_rules(400)
make_events()
