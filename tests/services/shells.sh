#!/usr/bin/env bash
# Bash, zsh and fish complete the commands and the job's own words, by the scripts that `completions` prints.
#
# Needs bash, zsh and fish. Run from the root of the checkout after `cargo build`.
set -euo pipefail
. "$(dirname "$0")/common.sh"
trap 'rm -rf "$home"' EXIT
mkdir "$home/bin"
ln -s "$program" "$home/bin/curewright"
export PATH="$home/bin:$PATH"
curewright coat "roof" varnish-two-part --at -3h --done >/dev/null
curewright coat "door & frame" varnish-two-part --new --at -2h --done >/dev/null
for shell in bash zsh fish; do curewright completions "$shell" >"$home/_curewright.$shell"; done

# Each prints what it offers for a line, one a line.
bash_offers() {
  bash --norc -c '
    source "$1"
    eval "COMP_WORDS=($2)" 2>/dev/null
    [ "${2: -1}" = " " ] && COMP_WORDS+=("")
    COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
    _curewright_own curewright "${COMP_WORDS[COMP_CWORD]}" "${COMP_WORDS[COMP_CWORD-1]}"
    printf "%s\n" "${COMPREPLY[@]}"' bash "$home/_curewright.bash" "$1"
}
fish_offers() {
  fish --no-config -c "source $home/_curewright.fish; complete -C '$1'" | cut -f1
}
# A terminal is needed to complete in zsh.
zsh_offers() {
  mkdir -p "$home/zsh"
  cp "$home/_curewright.zsh" "$home/zsh/_curewright"
  rm -f "$home/zsh/offers" "$home/zsh/up"
  timeout 30 zsh -f tests/services/offers.zsh "$home/zsh" "$1" </dev/null >/dev/null 2>&1
  cat "$home/zsh/offers"
}

offers() {
  local found
  found=$("$1_offers" "$2")
  grep -qxF -- "$3" <<<"$found" || fail "$1: \"$2\" does not offer \"$3\" but: $(tr '\n' '|' <<<"$found")"
}
for shell in bash fish zsh; do
  door="door & frame"
  [ "$shell" = fish ] || door='door\ \&\ frame'
  offers "$shell" "curewright coat " "$door"
  offers "$shell" "curewright coat ro" roof
  offers "$shell" "curewright check roof varnish-two" varnish-two-part
  offers "$shell" "curewright undo " 2
  offers "$shell" "curewright sta" status
  echo "ok: $shell completes commands, areas, products and entries"
done
