#!/usr/bin/env bash
# packaging/deb.sh BINARY FOLDER: makes a Debian package of a binary that was built. Needs dpkg-deb and gzip alone.
set -euo pipefail
binary=$(realpath "$1") folder=$(realpath "$2")
cd "$(dirname "$0")/.."
version=$(sed -n 's/^version = "\(.*\)"/\1/p' Cargo.toml | head -1)
# The machine of a binary stands in its ELF header, at byte 18.
case $(od -An -tu2 -j18 -N2 "$binary" | tr -d ' ') in
62) architecture=amd64 ;;
183) architecture=arm64 ;;
40) architecture=armhf ;;
*) echo "$binary is of an unknown machine" >&2; exit 1 ;;
esac
# A static binary has no interpreter.
needs="libc6 (>= 2.36)"
if ! grep -q 'ld-linux' <(head -c 4096 "$binary" | tr -d '\0'); then needs=; fi

root=$(mktemp -d)
trap 'rm -rf "$root"' EXIT
chmod 755 "$root"
doc=$root/usr/share/doc/curewright
install -Dm755 "$binary" "$root/usr/bin/curewright"
mkdir -p "$root/usr/share/man/man1" "$doc"
"$binary" man --all "$root/usr/share/man/man1" >/dev/null
gzip -9n "$root"/usr/share/man/man1/*.1
completions() { mkdir -p "$root/$(dirname "$2")" && "$binary" completions "$1" >"$root/$2"; }
completions bash usr/share/bash-completion/completions/curewright
completions zsh usr/share/zsh/vendor-completions/_curewright
completions fish usr/share/fish/vendor_completions.d/curewright.fish
install -Dm644 packaging/curewright-watch.service "$root/usr/lib/systemd/user/curewright-watch.service"
install -Dm644 packaging/curewright.desktop "$root/usr/share/applications/curewright.desktop"
install -Dm644 packaging/curewright.svg "$root/usr/share/icons/hicolor/scalable/apps/curewright.svg"
gzip -9nc CHANGELOG.md >"$doc/changelog.gz"
cp README.md SECURITY.md "$doc"
cp -r docs/guide "$doc/guide"
{
  echo "Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/"
  echo "Upstream-Name: curewright"
  echo
  echo "Files: *"
  echo "Copyright: the authors of curewright"
  echo "License: MIT or Apache-2.0"
  echo
  echo "License: MIT"
  sed 's/^$/./; s/^/ /' LICENSE-MIT
  echo
  echo "License: Apache-2.0"
  sed 's/^$/./; s/^/ /' LICENSE-APACHE
} >"$doc/copyright"
find "$root" -type f ! -path "$root/usr/bin/*" -exec chmod 644 {} +

mkdir "$root/DEBIAN"
{
  echo "Package: curewright"
  echo "Version: $version"
  echo "Architecture: $architecture"
  echo "Maintainer: the authors of curewright <nobody@localhost>"
  echo "Installed-Size: $(du -sk --exclude=DEBIAN "$root" | cut -f1)"
  [ -z "$needs" ] || echo "Depends: $needs"
  echo "Suggests: notification-daemon"
  echo "Section: utils"
  echo "Priority: optional"
  echo "Description: cure and recoat timer that follows the temperature of the shop"
  echo " For people who finish a wooden piece with several coatings. Shows for every area"
  echo " what may be done now, what must not be done yet, and when that changes."
} >"$root/DEBIAN/control"
(cd "$root" && find usr -type f -print0 | LC_ALL=C sort -z | xargs -0 md5sum) >"$root/DEBIAN/md5sums"
package=$folder/curewright_${version}_$architecture.deb
dpkg-deb --root-owner-group --build "$root" "$package" >/dev/null
echo "$package"
