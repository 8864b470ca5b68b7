# Shared by the checks with real services: a home of their own, a job whose window is about to close, and a
# way to wait for something.

program=$(realpath "${CUREWRIGHT:-target/debug/curewright}")
home=$(mktemp -d)
export HOME="$home" XDG_CONFIG_HOME="$home/config" XDG_DATA_HOME="$home/data" CUREWRIGHT_JOB="$home/job.db"
export TZ=UTC LANG=C.UTF-8
# The product varnish-quick of the tests: open for hours, not for a day.
export CUREWRIGHT_PROFILES=$(realpath src/testing)
unset NO_COLOR

fail() {
  declare -F screen >/dev/null && screen >&2 || true
  echo "FAILED: $*" >&2
  exit 1
}

# wait_for SECONDS WHAT COMMAND…: until the command succeeds.
wait_for() {
  local until=$((SECONDS + $1)) what=$2
  shift 2
  until "$@" >/dev/null 2>&1; do
    [ "$SECONDS" -lt "$until" ] || fail "waited in vain for $what"
    sleep 0.2
  done
  echo "ok: $what"
}

# A shop at 20 °C, read every ten minutes for four days up to now.
steady_shop() {
  local minutes
  echo "time,temperature,humidity"
  for minutes in $(seq 5760 -10 0); do
    echo "$(date -u -d "-$minutes min" +%Y-%m-%dT%H:%M:%SZ),20.0,55"
  done
}
