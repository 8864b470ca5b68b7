"""Checks a calendar that curewright wrote, with two libraries of another language and by the letter of RFC 5545.

    check_calendar.py FILE [EARLIER]

With EARLIER: the events of both have the same identities, and none is there twice.
"""

import datetime
import re
import sys

import icalendar
import vobject

UTC_TIME = re.compile(rb"^(DTSTAMP|DTSTART|DTEND):\d{8}T\d{6}Z$")


def unfolded(raw):
    assert raw.endswith(b"\r\n"), "the last line does not end"
    lines = raw.removesuffix(b"\r\n").split(b"\r\n")
    for line in lines:
        # Section 3.1.
        assert b"\r" not in line and b"\n" not in line, f"a bare line end: {line}"
        assert 0 < len(line) <= 75, f"{len(line)} octets: {line}"
        line.decode("utf-8")
    return raw.replace(b"\r\n ", b"").replace(b"\r\n\t", b"").split(b"\r\n")[:-1]


def check_letters(raw):
    lines = unfolded(raw)
    assert lines[:3] == [b"BEGIN:VCALENDAR", b"VERSION:2.0", b"PRODID:-//curewright//curewright//EN"], lines[:3]
    assert not any(line.startswith(b"METHOD") for line in lines)
    for line in lines:
        name = re.split(rb"[;:]", line, maxsplit=1)[0]
        if name in (b"DTSTAMP", b"DTSTART", b"DTEND"):
            assert UTC_TIME.match(line), line


def check_icalendar(raw):
    calendar = icalendar.Calendar.from_ical(raw)
    assert not calendar.errors, calendar.errors
    events = calendar.walk("VEVENT")
    assert events
    for event in events:
        assert not event.errors, event.errors
        for name in ("UID", "DTSTAMP", "DTSTART", "SUMMARY", "SEQUENCE", "STATUS", "TRANSP"):
            assert name in event, f"{name} is missing"
        assert event.start.tzinfo == datetime.timezone.utc or event.start.utcoffset() == datetime.timedelta(0)
        if "DTEND" in event:
            assert event.end > event.start
        alarms = event.walk("VALARM")
        assert alarms or event["STATUS"] == "CANCELLED", event["SUMMARY"]
        for alarm in alarms:
            assert alarm["ACTION"] == "DISPLAY" and alarm["DESCRIPTION"], alarm
            trigger = alarm["TRIGGER"]
            assert trigger.dt <= datetime.timedelta(0), trigger
            assert trigger.params.get("RELATED", "START") != "END" or "DTEND" in event
    uids = [str(event["UID"]) for event in events]
    assert len(set(uids)) == len(uids), uids
    return {str(event["UID"]): event for event in events}


def check_vobject(raw):
    calendar = vobject.readOne(raw.decode("utf-8"))
    calendar.validate(raiseException=True)
    return {event.uid.value: event.summary.value for event in calendar.vevent_list}


def read(path):
    raw = open(path, "rb").read()
    check_letters(raw)
    events = check_icalendar(raw)
    others = check_vobject(raw)
    assert others == {uid: str(event["SUMMARY"]) for uid, event in events.items()}
    return events


events = read(sys.argv[1])
print(f"{sys.argv[1]}: {len(events)} events")
for event in events.values():
    print(" ", event.start.isoformat(), str(event["STATUS"]), str(event["SUMMARY"]))
if len(sys.argv) > 2:
    earlier = read(sys.argv[2])
    for uid in earlier.keys() & events.keys():
        assert events[uid]["SEQUENCE"] >= earlier[uid]["SEQUENCE"]
    moved = [uid for uid in earlier.keys() & events.keys() if events[uid].start != earlier[uid].start]
    ahead = {uid for uid, event in earlier.items() if event.end > events[next(iter(events))]["DTSTAMP"].dt}
    assert ahead <= events.keys(), "an event that lies ahead vanished without a word"
    print(f"{len(moved)} moved, {len(events.keys() - earlier.keys())} new")
