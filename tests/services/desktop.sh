#!/usr/bin/env bash
# A real D-Bus session with a real notification daemon: `curewright watch` tells it of a closing window. Then
# the daemon hangs, and then it is gone: nothing freezes and the person is told once.
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

told() {
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
  told "After that it has to cure" "$1"
}
wait_for 120 "the desktop was told that the window closes" closing 1
grep -q "the window closes" "$home/watch.log" || fail "watch did not print the alert"
"$program" alerts --json | grep -q '"kind": "recoat_close"' || fail "the alert is not in the job"

# A second watcher tells nothing again.
"$program" watch --once
sleep 1
closing 1 || fail "the alert was told twice"
echo "ok: two watchers raise an alert once"

# The daemon hangs: the watcher goes on.
kill -STOP "$daemon"
"$program" coat floor oil-penetrating --at -30h >/dev/null
"$program" done floor --at -29h >/dev/null
wait_for 10 "watch printed an alert beside a daemon that hangs" grep -q "^.*floor" "$home/watch.log"
wait_for 15 "the person was told that the desktop does not answer" grep -q "does not answer" "$home/watch.err"
begun=$(date +%s%N)
"$program" status >/dev/null
[ $((($(date +%s%N) - begun) / 1000000)) -lt 2000 ] || fail "status took too long beside a daemon that hangs"
kill -TERM "$watcher"
wait_for 5 "watch left at once on SIGTERM" bash -c "! kill -0 $watcher"
wait "$watcher" || fail "watch ended with $?"
watcher=

# No daemon at all.
kill -CONT "$daemon"
kill "$daemon"
wait "$daemon" 2>/dev/null || true
"$program" coat shelf varnish-two-part --at -30h --done >/dev/null
"$program" watch --once >"$home/watch.log" 2>"$home/watch.err" || fail "watch --once failed without a daemon"
[ "$(grep -c "cannot be reached" "$home/watch.err")" -eq 1 ] || fail "the person was not told once: $(cat "$home/watch.err")"
grep -q shelf "$home/watch.log" || fail "watch did not print the alert without a daemon"
echo "ok: without a daemon the alert is printed and the person told once"
