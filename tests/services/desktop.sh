#!/usr/bin/env bash
# A real D-Bus session with a real notification daemon: `curewright watch` sends it a closing window. The daemon
# hangs, is killed and is started again, many times: nothing freezes, every alert arrives, and a trouble is
# said once.
#
# Then a service that notes what it is asked and presses buttons: "Seen", "Later", one popup for each area, closed when
# the alert was acknowledged elsewhere; and one without buttons.
#
# Needs Xvfb, dbus-run-session, dunst and python3 with its modules dbus and gi. Run from the root of the checkout after `cargo build`.
set -euo pipefail

if [ "${1:-}" != inside ]; then
  export DISPLAY=:97
  Xvfb "$DISPLAY" -screen 0 800x600x24 >/dev/null 2>&1 &
  server=$!
  bus=$(mktemp)
  trap 'kill "$server" 2>/dev/null || true; rm -f "$bus"' EXIT
  # A bus that starts no services by itself: the daemon is there when this script says so.
  cat >"$bus" <<'XML'
<busconfig>
  <type>session</type>
  <listen>unix:tmpdir=/tmp</listen>
  <auth>EXTERNAL</auth>
  <policy context="default">
    <allow send_destination="*" eavesdrop="true"/>
    <allow eavesdrop="true"/>
    <allow own="*"/>
  </policy>
</busconfig>
XML
  dbus-run-session --config-file="$bus" -- bash "$0" inside
  exit
fi

. "$(dirname "$0")/common.sh"
dunst >"$home/dunst.log" 2>&1 &
daemon=$!
watcher=
trap 'kill -CONT "$daemon" 2>/dev/null || true; kill "$daemon" $watcher 2>/dev/null || true; rm -rf "$home"' EXIT
wait_for 20 "the notification daemon" dunstctl count

arrived() {
  dunstctl history >"$home/history.json"
  dunstctl count displayed >/dev/null
  python3 - "$home/history.json" "$@" <<'PYTHON'
import json, sys
history = json.load(open(sys.argv[1]))["data"][0]
texts = [entry["summary"]["data"] + " | " + entry["body"]["data"] for entry in history]
wanted = sys.argv[2]
count = sum(wanted in text for text in texts)
sys.exit(0 if count == int(sys.argv[3]) else f"{count} of {texts}")
PYTHON
}

# The window of this coat may close 546 minutes after its first stroke (10 h at 20 °C, at 21 °C a little
# less), so that the alert 30 minutes before is due within the next minute.
steady_shop >"$home/shop.csv"
"$program" import "$home/shop.csv"
"$program" coat "door & frame" varnish-quick --at -515m >/dev/null
"$program" done "door & frame" --at -495m >/dev/null

"$program" watch >"$home/watch.log" 2>"$home/watch.err" &
watcher=$!
closing() {
  dunstctl close-all
  arrived "After that, " "$1"
}
wait_for 120 "the desktop shows that the window closes" closing 1
grep -q "After that, " "$home/watch.log" || fail "watch did not print the alert"
"$program" alerts --json | grep -q '"kind": "recoat_close"' || fail "the alert is not in the job"

# A second watcher sends nothing again.
"$program" watch --once
sleep 1
closing 1 || fail "the alert was sent twice"
echo "ok: two watchers send an alert once"

# The daemon hangs: the watcher goes on.
kill -STOP "$daemon"
"$program" coat floor oil-penetrating --at -30h >/dev/null
"$program" done floor --at -29h >/dev/null
wait_for 10 "watch printed an alert beside a daemon that hangs" grep -q "^.*floor" "$home/watch.log"
wait_for 20 "watch said that the desktop does not answer" grep -q "does not answer" "$home/watch.err"
begun=$(date +%s%N)
"$program" status >/dev/null
[ $((($(date +%s%N) - begun) / 1000000)) -lt 2000 ] || fail "status took too long beside a daemon that hangs"
# It wakes, and shows what came while it hung.
kill -CONT "$daemon"
floor() { dunstctl close-all && arrived "floor" 1; }
wait_for 90 "the desktop showed what came while it hung" floor

# Rounds of alerts beside a daemon that hangs, is killed, is restarted. A daemon that was killed has forgotten what
# it showed, so what it shows is noted as it goes.
rounds=${ROUNDS:-4}
seen="$home/seen.txt"
: >"$seen"
note() {
  dunstctl close-all >/dev/null 2>&1 || true
  dunstctl history 2>/dev/null | grep -o 'piece [0-9]* of [0-9]*:' >>"$seen" || true
}
all_seen() {
  note
  local round piece
  for round in $(seq "$rounds"); do
    for piece in 1 2 3 4; do
      grep -q "piece $piece of $round:" "$seen" || return 1
    done
  done
}
for round in $(seq "$rounds"); do
  case $((round % 4)) in
  0) ;;
  1) kill -STOP "$daemon" ;;
  2) note; kill -KILL "$daemon"; wait "$daemon" 2>/dev/null || true ;;
  3) kill -STOP "$daemon"; sleep 1 ;;
  esac
  for piece in 1 2 3 4; do
    "$program" coat "piece $piece of $round" varnish-quick --new --at -6h --done >/dev/null
  done
  wait_for 20 "watch printed the alerts of round $round" grep -q "piece 4 of $round:" "$home/watch.log"
  case $((round % 4)) in
  1) kill -CONT "$daemon" ;;
  2) dunst >>"$home/dunst.log" 2>&1 & daemon=$! ;;
  3) kill -KILL "$daemon"; wait "$daemon" 2>/dev/null || true; sleep 2; dunst >>"$home/dunst.log" 2>&1 & daemon=$! ;;
  esac
  # What this daemon got must be noted before the next one takes its place.
  shown() {
    note
    for piece in 1 2 3 4; do grep -q "piece $piece of $round:" "$seen" || return 1; done
  }
  wait_for 100 "the desktop showed all alerts of round $round" shown
done
all_seen || fail "an alert did not arrive: $(sort -u "$seen")"
echo "ok: $((rounds * 4)) alerts arrived beside a daemon that hangs, is killed and is restarted"
kill -TERM "$watcher"
wait_for 5 "watch left at once on SIGTERM" bash -c "! kill -0 $watcher"
wait "$watcher" || fail "watch ended with $?"
watcher=

# A service that notes what it is asked and presses buttons.
kill "$daemon"
wait "$daemon" 2>/dev/null || true
notes="$home/notes.jsonl"
mkfifo "$home/person"
start_service() {
  : >"$notes"
  /usr/bin/python3 tests/services/notifications.py "$notes" "$@" <>"$home/person" 2>"$home/service.err" &
  daemon=$!
  wait_for 20 "a service that notes what it is asked" \
    dbus-send --session --print-reply --dest=org.freedesktop.Notifications /org/freedesktop/Notifications \
    org.freedesktop.Notifications.GetServerInformation
}
# noted EXPRESSION: whether it is true of the calls, as Python sees them.
noted() {
  python3 - "$notes" "$1" <<'PYTHON'
import json, sys
calls = [json.loads(line) for line in open(sys.argv[1])]
popups = [call for call in calls if call["call"] == "notify"]
closed = [call["number"] for call in calls if call["call"] == "close"]
sys.exit(0 if eval(sys.argv[2]) else 1)
PYTHON
}
newest_alert() { "$program" alerts --json | python3 -c 'import json, sys; print(json.load(sys.stdin)[-1]["id"])'; }
seen_now() { "$program" alerts | grep -Eq "^ *$1  seen"; }

"$program" alerts --ack all >/dev/null
start_service
"$program" --quiet watch >"$home/watch.log" 2>"$home/watch.err" &
watcher=$!
"$program" coat ladder varnish-quick --new --at -6h --done >/dev/null
wait_for 20 "a popup with buttons, icon, category, sound and desktop entry" noted '
any("ladder" in popup["summary"] and popup["actions"] == ["seen", "Seen", "later", "Later: 15 min"]
    and popup["icon"] == "curewright" and popup["hints"]["category"] == "x-curewright.alert"
    and popup["hints"]["desktop-entry"] == "curewright" and "sound-name" in popup["hints"] for popup in popups)'
alert=$(newest_alert)
echo "seen last" >"$home/person"
wait_for 10 "Seen on the popup marks the alert as seen" seen_now "$alert"
wait_for 10 "its popup is taken away" noted 'popups[-1]["number"] in closed'

"$program" coat sill varnish-quick --new --at -6h --done >/dev/null
wait_for 20 "a popup of another area" noted '"sill" in popups[-1]["summary"]'
alert=$(newest_alert)
echo "later last" >"$home/person"
put_off() { "$program" alerts | grep -E "^ *$alert  unseen" | grep -q "Put off until"; }
wait_for 10 "Later on the popup puts the alert off" put_off

"$program" coat shutter varnish-quick --new --at -6h --done >/dev/null
wait_for 20 "a popup of a third area" noted '"shutter" in popups[-1]["summary"]'
"$program" alerts --ack "$(newest_alert)" >/dev/null
wait_for 10 "a popup goes when its alert is acknowledged elsewhere" noted 'popups[-1]["number"] in closed'

# The window of this coat closes while the popup that says that it is open is there.
"$program" coat hatch varnish-quick --new --at -515m --done >/dev/null
wait_for 120 "one popup of an area, replaced by its next alert" noted '
(lambda of: len(of) > 1 and len({popup["number"] for popup in of}) == 1 and "\n" in of[-1]["body"])(
    [popup for popup in popups if "hatch" in popup["summary"]])'
kill -TERM "$watcher"
wait "$watcher" || fail "watch ended with $?"
watcher=
wait_for 5 "a watch that leaves takes its buttons along" noted '
"hatch" in popups[-1]["summary"] and popups[-1]["actions"] == [] and popups[-1]["hints"].get("suppress-sound")'

# A service that knows no buttons and no markup.
kill "$daemon"
wait "$daemon" 2>/dev/null || true
"$program" alerts --ack all >/dev/null
start_service nobuttons
"$program" watch >"$home/watch.log" 2>"$home/watch.err" &
watcher=$!
"$program" coat "rail & <post>" varnish-quick --new --at -6h --done >/dev/null
wait_for 20 "a service without buttons and markup gets neither" noted '
popups[-1]["actions"] == [] and "rail & <post>" in popups[-1]["summary"] and "&amp;" not in popups[-1]["body"]'
[ ! -s "$home/watch.err" ] || fail "watch complained: $(cat "$home/watch.err")"
kill -TERM "$watcher"
wait "$watcher" || fail "watch ended with $?"
watcher=

# No daemon at all.
kill "$daemon"
wait "$daemon" 2>/dev/null || true
"$program" coat shelf varnish-quick --at -30h --done >/dev/null
"$program" watch --once >"$home/watch.log" 2>"$home/watch.err" || fail "watch --once failed without a daemon"
[ "$(grep -c "cannot be reached" "$home/watch.err")" -eq 1 ] || fail "the trouble was not said once: $(cat "$home/watch.err")"
grep -q shelf "$home/watch.log" || fail "watch did not print the alert without a daemon"
echo "ok: without a daemon the alert is printed and the trouble said once"
