#!/usr/bin/env bash
# Calendars in other people's hands: what is exported parses in two libraries of another language and keeps to the
# letter of RFC 5545; a second export moves events and doubles none, and calls off what holds no more.
#
# Needs python3 with pip, and the registry it installs from. Run from the root of the checkout after `cargo build`.
set -euo pipefail
. "$(dirname "$0")/common.sh"
trap 'rm -rf "$home"' EXIT
screen() { :; }
folder=$(cd "$(dirname "$0")" && pwd)

python3 -m pip --version >/dev/null 2>&1 || fail "python3 has no pip"
python3 -m pip install --quiet --disable-pip-version-check --root-user-action ignore --target "$home/python" \
  icalendar==7.3.2 vobject==0.9.9 || fail "the calendar libraries cannot be installed"
check() { PYTHONPATH=$home/python PYTHONDONTWRITEBYTECODE=1 python3 "$folder/check_calendar.py" "$@"; }

cd "$home"
cat >hut.toml <<'TOML'
name = "Hut"
[[area]]
name = "Tür, außen; \"ößere\", mit einem sehr langen Namen, der über die Zeile hinaus geht – 塗装する面 ドア"
square_metres = 2.2
minutes_per_square_metre = 9
steps = [{ tape = "on" }, { coat = "varnish-two-part" }, { tape = "off" }, { coat = "varnish-two-part" }]
TOML
area='Tür, außen; "ößere", mit einem sehr langen Namen, der über die Zeile hinaus geht – 塗装する面 ドア'
"$program" reading 17 --humidity 60 --at -3h >/dev/null
"$program" scheme hut.toml --at -2h >/dev/null
"$program" step "$area" tape-on --at -50m >/dev/null
"$program" coat "$area" --at -45m >/dev/null 2>&1
"$program" done "$area" --at -25m >/dev/null

now=$(date -u +%Y-%m-%dT%H:%M:%SZ)
"$program" calendar first.ics --at "$now"
check first.ics
"$program" calendar - --at "$now" | cmp - first.ics || fail "standard output and the file differ"

cp first.ics second.ics
"$program" reading 12 >/dev/null
"$program" calendar second.ics >/dev/null
check second.ics first.ics | tee told
grep -q '^[3-9] moved, 0 new' told || fail "a cooler shop did not move the events"

# The coat is taken back: what it announced is called off.
"$program" undo >/dev/null
"$program" undo >/dev/null
"$program" calendar second.ics >/dev/null
check second.ics | tee told
grep -q CANCELLED told || fail "nothing was called off"

echo "calendars: well"
