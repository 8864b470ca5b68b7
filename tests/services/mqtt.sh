#!/usr/bin/env bash
# A real MQTT broker: readings of a topic come into the job; what the broker has kept from before does not; what
# is no reading is told; a broker that goes away is told, and found again when it is back, with a password and
# without.
#
# Needs mosquitto and mosquitto-clients. Run from the root of the checkout after `cargo build`.
set -euo pipefail
. "$(dirname "$0")/common.sh"
unset DBUS_SESSION_BUS_ADDRESS
PATH=$PATH:/usr/sbin

port=$((20000 + RANDOM % 10000))
broker= watch=
stop() { if [ -n "$1" ]; then kill "$1" 2>/dev/null || true; wait "$1" 2>/dev/null || true; fi; }
trap 'stop "$watch"; stop "$broker"; rm -rf "$home"' EXIT
screen() { cat "$home/broker.log" "$home/told"; }

start_broker() {
  mosquitto -c "$home/broker.conf" >>"$home/broker.log" 2>&1 &
  broker=$!
  wait_for 10 "the broker listens" bash -c "exec 3<>/dev/tcp/127.0.0.1/$port"
}
say() { mosquitto_pub -h 127.0.0.1 -p "$port" -u shop -P secret -q "${3:-1}" ${4:+"$4"} -t "$1" -m "$2"; }
says_until() { # TOPIC MESSAGE PATTERN: the message, until the job holds it: who listens may not be there yet.
  say "$1" "$2"
  "$program" status --json | grep -q "$3"
}
told() { grep -q -- "$1" "$home/told"; }

echo secret >"$home/password"
touch "$home/users" && chmod 600 "$home/users"
mosquitto_passwd -b "$home/users" shop secret
cat >"$home/broker.conf" <<CONF
listener $port 127.0.0.1
allow_anonymous false
password_file $home/users
CONF
[ "$(id -u)" -ne 0 ] || echo "user root" >>"$home/broker.conf"

mkdir -p "$home/config/curewright"
cat >"$home/config/curewright/config.toml" <<CONF
[mqtt]
broker = "127.0.0.1:$port"
user = "shop"
password_file = "$home/password"
[[sensor]]
place = "shop"
topic = "shop/air"
temperature = "/temperature"
humidity = "/humidity"
every = "10 s"
CONF

start_broker
say shop/air '{"temperature": 33, "humidity": 33}' 1 -r
"$program" watch --no-desktop >/dev/null 2>"$home/told" &
watch=$!

wait_for 20 "a reading of the topic is in the job" \
  says_until shop/air '{"temperature": 17.25, "humidity": 61}' '"temperature_c": *17.25'
! told 'gives no reading' || fail "a good reading was told as none"
! "$program" status --json | grep -q '"temperature_c": *33' || fail "a reading of unknown age was taken"

# What comes sooner than half of "every" behind a reading is passed over.
sleep 6
say shop/air garbage
wait_for 10 "a message that is not JSON is reported" told 'the sensor of shop gives no reading: its output is not JSON'
sleep 6
say shop/air '{"temperature": 18.5, "humidity": 61}' 0
wait_for 10 "the next good one is told" told 'the sensor of shop works again. (topic shop/air)'

stop "$broker"
wait_for 40 "the broker's end is told" told 'gives no reading: the MQTT broker: '
start_broker
wait_for 40 "the broker is found again" \
  says_until shop/air '{"temperature": 21.75, "humidity": 55}' '"temperature_c": *21.75'

# More than any reading needs ends the connection, and not the program.
head -c 200000 /dev/zero | tr '\0' 1 >"$home/long"
mosquitto_pub -h 127.0.0.1 -p "$port" -u shop -P secret -q 1 -t shop/air -f "$home/long"
wait_for 40 "it listens again after a message that was too long" \
  says_until shop/air '{"temperature": 12.25, "humidity": 55}' '"temperature_c": *12.25'
stop "$watch"
watch=

# A wrong password is told.
echo wrong >"$home/password"
"$program" watch --no-desktop >/dev/null 2>"$home/told" &
watch=$!
wait_for 20 "a wrong password is told" told 'the MQTT broker: it refuses'
