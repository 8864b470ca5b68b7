#!/usr/bin/env bash
# A real terminal of 80 by 24: a coat is started, finished and taken back by keys, a temperature entered, an
# alert acknowledged; the board is suspended and comes back; a plan is stopped; SIGTERM and a lost terminal leave
# nothing behind.
#
# Needs tmux. Run from the root of the checkout after `cargo build`.
set -euo pipefail
. "$(dirname "$0")/common.sh"
unset DBUS_SESSION_BUS_ADDRESS

tmux() { command tmux -L "curewright-$$" "$@"; }
trap 'tmux kill-server 2>/dev/null || true; rm -rf "$home"' EXIT
keys() { tmux send-keys -t board "$@"; }
screen() { tmux capture-pane -p -t board; }
shows() { screen | grep -q -- "$1"; }
see() { wait_for 10 "the screen says \"$1\"" shows "$1"; }
recorded() { "$program" record | grep -q -- "$1"; }

steady_shop >"$home/shop.csv"
"$program" import "$home/shop.csv" >/dev/null
"$program" coat door varnish-quick --at -9h >/dev/null
"$program" done door --at -8h >/dev/null

tmux -f /dev/null new-session -d -s board -x 80 -y 24 "env PS1='shell> ' sh -i"
see "shell>"
keys "$program" Enter
see "door"
see "c coat"

# An alert is on the screen, and seen.
see "CLOSING"
keys a
wait_for 10 "the alert is acknowledged" bash -c "! '$program' alerts | grep -q ' open '"

# A coat on a new area, its last stroke, and the stroke taken back.
keys c
see "first stroke"

for _ in 1 2 3 4 5 6 7 8 9; do keys BSpace; done
keys "roof"
keys Enter
see "product"
keys "oil"
keys Enter
wait_for 10 "the coat is recorded" recorded "roof: started a coat of oil-penetrating"
keys f
see "last stroke"
keys Enter
wait_for 10 "the last stroke is recorded" recorded "roof: last stroke"
keys u
see "y"
keys y
wait_for 10 "the last stroke is taken back" recorded "roof: last stroke  (taken back)"

# The record: the stroke that was taken back is there, marked; an entry above it is corrected from here.
keys r
see "Record, all areas"
see "roof: last stroke  (taken back)"
keys Right
see "Record, door"
keys Left
keys Down Down
keys n
see "A note on this entry"
keys "two runs"
keys Enter
wait_for 10 "the note is recorded" recorded "two runs"
keys Escape
see "c coat"

# A temperature from twenty minutes ago.
keys t
see "A reading"
keys "17,5"
keys Tab Tab Tab
keys Enter
wait_for 10 "the temperature is recorded" recorded "shop: 17.5"
see "17.5"

# Another process's entry appears within two seconds.
"$program" coat shelf oil-penetrating >/dev/null
wait_for 3 "the other process's area appears" shows "shelf"

# The digits to be read from across the shop, and back.
keys b
sleep 0.5
keys b
see "c coat"

# Suspended, and back again.
keys C-z
see "shell>"
keys "fg" Enter
see "c coat"

# SIGTERM gives the terminal back.
pkill -TERM -f "$program\$" || fail "the board is not running"
see "shell>"
keys "echo all is" " well" Enter
see "all is well"

# The board of another moment is frozen: it says so, and nothing is recorded on it.
before=$("$program" record | wc -l)
keys "clear; $program --at '30 min ago'" Enter
see "(frozen)"
keys t
see "A reading"
keys "17"
keys Enter
see "nothing is recorded"
keys Escape
keys q
see "shell>"
[ "$("$program" record | wc -l)" = "$before" ] || fail "something was recorded on a frozen board"

# A plan tells how far it is; Ctrl-C takes the best so far.
cat >"$home/gate.toml" <<'SCHEME'
name = "gate"
[free]
hours = ["Mon-Fri 18-21", "Sat 9-17"]
[[area]]
name = "gate"
square_metres = 2
steps = [{ coat = "varnish-quick" }, { coat = "varnish-quick" }, { sand = "320" }, { coat = "varnish-quick" }]
SCHEME
keys "$program plan $home/gate.toml --draws 100000 | head -3" Enter
see "Ctrl-C takes the best so far"
pkill -INT -f "$program plan" || fail "no plan is being made"
see "It was stopped: the additional answers are missing"
see "shell>"

# The terminal goes away, and the signal that says so is ignored: no process stays and spins.
keys "trap '' HUP; $program" Enter
see "c coat"
board=$(pgrep -n -f "$program\$")
tmux kill-session -t board
wait_for 5 "the board left with its terminal" bash -c "! kill -0 $board"
