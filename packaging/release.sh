#!/usr/bin/env bash
# packaging/release.sh [TARGET…]: static binaries, Debian packages and checksums in target/release-files. Each target is
# one of rustup; without one, the static one of this machine. A C compiler for the target must be there, for example
# musl-gcc (Debian: musl-tools), or CC_<target> names it.
set -euo pipefail
cd "$(dirname "$0")/.."
out=target/release-files
version=$(sed -n 's/^version = "\(.*\)"/\1/p' Cargo.toml | head -1)
[ $# -gt 0 ] || set -- "$(uname -m)-unknown-linux-musl"
rm -rf "$out" && mkdir -p "$out"
for target in "$@"; do
  rustup target list --installed | grep -qx "$target" || rustup target add "$target"
  cargo build --profile dist --locked --target "$target"
  binary=target/$target/dist/curewright
  size=$(stat -c %s "$binary")
  [ "$size" -le 14680064 ] || { echo "$binary has $size bytes, more than 14 MiB" >&2; exit 1; }
  name=curewright-$version-$target
  mkdir "$out/$name"
  cp "$binary" README.md CHANGELOG.md LICENSE-MIT LICENSE-APACHE packaging/curewright-watch.service "$out/$name"
  tar -C "$out" --owner=0 --group=0 --sort=name -czf "$out/$name.tar.gz" "$name"
  rm -r "${out:?}/$name"
  if [ "${target%%-*}" = "$(uname -m)" ]; then bash packaging/deb.sh "$binary" "$out"; fi
done
(cd "$out" && sha256sum -- * >SHA256SUMS)
cat "$out/SHA256SUMS"
