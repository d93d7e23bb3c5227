#!/usr/bin/env bash
# The same sources, built in another folder of another depth and without any cache: the same bytes?
# Usage: same_bytes.sh PROGRAM [OBJECTS], the program built from these sources in its usual way. Without a number the
# whole program is built again and compared, some minutes on two cores; with one, so many of its object files are,
# drawn by the bytes of the program, so that each change of the program draws others.
set -eu
program=$(realpath "$1")
objects=${2:-0}
source=$(cd "$(dirname "$0")/../.." && pwd)
first=$(cd "$(dirname "$program")/../.." && pwd)
root=$(mktemp -d)
trap 'rm -rf "$root"' EXIT
copy=$root/some/other/folder
mkdir -p "$copy"
(cd "$source" && tar -c CMakeLists.txt LICENSE README.md optimize stagemodels objectives tests configs results) | tar -x -C "$copy"
export CCACHE_DISABLE=1
built() { "$@" >>"$root/log" 2>&1 || { tail -40 "$root/log" >&2; exit 70; }; }
built cmake -G Ninja -S "$copy" -B "$root/built" -DANTIPHASE_TESTS=OFF
if [ "$objects" -gt 0 ]; then
  mapfile -t drawn < <(ninja -C "$root/built" -t targets all | grep -o '^[^ ]*\.cpp\.o' | sort |
    shuf -n "$objects" --random-source="$program")
  built ninja -C "$root/built" "${drawn[@]}"
  for object in "${drawn[@]}"; do
    cmp "$first/$object" "$root/built/$object" || { echo "two builds of $object differ" >&2; exit 1; }
  done
  echo "same bytes: ${#drawn[@]} object files"
else
  built cmake --build "$root/built" --target antiphase
  cmp "$program" "$root/built/optimize/program/antiphase" || { echo "two builds of the same sources differ" >&2; exit 1; }
  echo "same bytes: $(sha256sum <"$program" | cut -c1-16), $(stat -c %s "$program") bytes"
fi
