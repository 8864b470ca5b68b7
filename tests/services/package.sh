#!/usr/bin/env bash
# The Debian package is built, installed into a bare system, used there and removed again.
#
#   package.sh BINARY [ROOT]
#
# Needs dpkg-deb and chroot; debootstrap makes the bare system where ROOT is not there yet.
set -euo pipefail
fail() { echo "FAILED: $*" >&2; exit 1; }
binary=$1 root=$(realpath -m "${2:-target/bare}")
size=$(stat -c %s "$binary")
[ "$size" -le 10485760 ] || fail "$binary has $size bytes, more than 10 MiB"
echo "ok: $binary has $((size / 1024)) KiB"

made=$(mktemp -d)
trap 'rm -rf "$made"' EXIT
package=$(bash packaging/deb.sh "$binary" "$made")
echo "ok: $(basename "$package"), $(($(stat -c %s "$package") / 1024)) KiB"
dpkg-deb --contents "$package" | awk '{print $6}' >"$made/contents"
for file in bin/curewright share/man/man1/curewright.1.gz share/man/man1/curewright-coat.1.gz \
  share/bash-completion/completions/curewright share/zsh/vendor-completions/_curewright \
  share/fish/vendor_completions.d/curewright.fish lib/systemd/user/curewright-watch.service \
  share/applications/curewright.desktop share/icons/hicolor/scalable/apps/curewright.svg \
  share/doc/curewright/copyright share/doc/curewright/changelog.gz; do
  grep -qx "./usr/$file" "$made/contents" || fail "the package has no /usr/$file"
done
if command -v desktop-file-validate >/dev/null; then
  desktop-file-validate packaging/curewright.desktop || fail "the desktop entry is not valid"
fi

# A system with nothing but the essential packages.
if [ ! -x "$root/usr/bin/dpkg" ]; then
  rm -rf "$root"
  if ! timeout 300 debootstrap --variant=minbase "$(. /etc/os-release && echo "$VERSION_CODENAME")" "$root" \
    >"$made/debootstrap.log" 2>&1; then
    rm -rf "$root"
    echo "NOT RUN: no bare system could be made: $(tail -1 "$made/debootstrap.log")"
    exit
  fi
fi
inside() { chroot "$root" /usr/bin/env -i HOME=/root PATH=/usr/sbin:/usr/bin:/sbin:/bin LANG=C.UTF-8 "$@"; }
# What an earlier run left.
inside dpkg --purge curewright >/dev/null 2>&1 || true
cp "$package" "$root/tmp/curewright.deb"
inside dpkg --install /tmp/curewright.deb >"$made/dpkg.log" 2>&1 || fail "it cannot be installed: $(cat "$made/dpkg.log")"
inside curewright --version
inside curewright --job /tmp/hut.db reading 18 --humidity 55 >/dev/null
inside curewright --job /tmp/hut.db coat roof varnish-two-part --at -3h --done >/dev/null
inside curewright --job /tmp/hut.db status | grep -q roof || fail "it shows no status"
inside curewright --job /tmp/hut.db watch --once --no-desktop >/dev/null
inside dpkg --verify curewright || fail "files differ from the package"
inside dpkg --remove curewright >/dev/null
[ -z "$(find "$root/usr" -name '*curewright*')" ] || fail "removing it leaves files: $(find "$root/usr" -name '*curewright*')"
rm -f "$root"/tmp/curewright.deb "$root"/tmp/hut.db*
echo "ok: the package is installed, used and removed in a bare system"
