#!/usr/bin/env bash
# Builds antiphase and runs it: with no arguments on the demo brief, else with the arguments given.
# Installs the packages it needs (Debian 12). Safe and quick to run again.
set -u
source "$(dirname "${BASH_SOURCE[0]}")/setup.sh"
need "${build_packages[@]}" || exit 3
folder=${ANTIPHASE_BUILD:-$project/build}
[ -x "$folder/optimize/program/antiphase" ] || echo "Building (a few minutes the first time) ..." >&2
build "$folder" -DANTIPHASE_TESTS=OFF -- antiphase || exit $?
program=$folder/optimize/program/antiphase
if [ $# -gt 0 ]; then
  exec "$program" "$@"
fi
cd "$project" || exit 3
exec "$program" search configs/briefs/rehearsal_room.json --out results/out/rehearsal_room
