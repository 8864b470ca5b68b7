#!/usr/bin/env bash
# The systemd user unit of `watch`: no complaint of systemd's own checker, and a manual page that is there.
#
# Needs systemd-analyze and man. Run from the root of the checkout after `cargo build`.
set -euo pipefail
. "$(dirname "$0")/common.sh"
trap 'rm -rf "$home"' EXIT
export XDG_RUNTIME_DIR="$home/run" MANPATH="$home/man"
mkdir -m 700 "$XDG_RUNTIME_DIR"
"$program" man --all "$home/man/man1" >/dev/null
man -w curewright >/dev/null || fail "there is no manual page"
said=$(systemd-analyze --user verify --man=yes packaging/curewright-watch.service 2>&1) || fail "$said"
[ -z "$said" ] || fail "$said"
# The checker passes over a key that it does not know; so that this check finds one:
sed 's/^LockPersonality=/LockPersonalty=/' packaging/curewright-watch.service >"$home/wrong.service"
systemd-analyze --user verify --man=no "$home/wrong.service" 2>&1 | grep -q LockPersonalty || fail "a wrong key is not found"
echo "ok: the unit of watch is valid"
for page in "$home"/man/man1/*.1; do
  for section in "EXIT STATUS" FILES ENVIRONMENT EXAMPLES; do
    grep -Eq "^\.SH \"?$section\"?$" "$page" || fail "$(basename "$page") has no section $section"
  done
  said=$(MANWIDTH=80 man --warnings=all -l "$page" 2>&1 >/dev/null) || fail "$said"
  [ -z "$said" ] || fail "$(basename "$page"): $said"
done
echo "ok: $(ls "$home/man/man1" | wc -l) manual pages"
