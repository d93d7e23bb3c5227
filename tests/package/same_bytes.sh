#!/usr/bin/env bash
# The same sources, built in another folder of another depth and without any cache: the same program, byte for byte?
# Usage: same_bytes.sh PROGRAM, one built from these sources in its usual way. Some minutes on two cores.
set -eu
program=$(realpath "$1")
source=$(cd "$(dirname "$0")/../.." && pwd)
root=$(mktemp -d)
trap 'rm -rf "$root"' EXIT
copy=$root/some/other/folder
mkdir -p "$copy"
(cd "$source" && tar -c CMakeLists.txt LICENSE README.md optimize stagemodels objectives tests configs results) | tar -x -C "$copy"
export CCACHE_DISABLE=1
cmake -G Ninja -S "$copy" -B "$root/built" -DANTIPHASE_TESTS=OFF >"$root/log" &&
  cmake --build "$root/built" --target antiphase >>"$root/log" || { tail -40 "$root/log" >&2; exit 70; }
if cmp "$program" "$root/built/optimize/program/antiphase"; then
  echo "same bytes: $(sha256sum <"$program" | cut -c1-16), $(stat -c %s "$program") bytes"
else
  echo "two builds of the same sources differ" >&2
  exit 1
fi
