#!/usr/bin/env bash
# A real D-Bus session with a real notification daemon: `curewright watch` sends it a closing window. The daemon
# hangs, is killed and is started again, many times: nothing freezes, every alert arrives, and a trouble is
# said once.
#
# Needs Xvfb, dbus-run-session, dunst and python3. Run from the root of the checkout after `cargo build`.
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
"$program" coat "door & frame" varnish-two-part --at -515m >/dev/null
"$program" done "door & frame" --at -495m >/dev/null

"$program" watch >"$home/watch.log" 2>"$home/watch.err" &
watcher=$!
closing() {
  dunstctl close-all
  arrived "After that it has to cure" "$1"
}
wait_for 120 "the desktop shows that the window closes" closing 1
grep -q "the window closes" "$home/watch.log" || fail "watch did not print the alert"
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
    "$program" coat "piece $piece of $round" varnish-two-part --new --at -6h --done >/dev/null
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

# No daemon at all.
kill "$daemon"
wait "$daemon" 2>/dev/null || true
"$program" coat shelf varnish-two-part --at -30h --done >/dev/null
"$program" watch --once >"$home/watch.log" 2>"$home/watch.err" || fail "watch --once failed without a daemon"
[ "$(grep -c "cannot be reached" "$home/watch.err")" -eq 1 ] || fail "the trouble was not said once: $(cat "$home/watch.err")"
grep -q shelf "$home/watch.log" || fail "watch did not print the alert without a daemon"
echo "ok: without a daemon the alert is printed and the trouble said once"
