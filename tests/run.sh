#!/usr/bin/env bash
# Builds and runs all tests, the long ones last. Installs the packages they need (Debian 12). Arguments go to ctest,
# for instance: bash tests/run.sh -R ^stagemodels
# With --quick first: every room, but no case of the test suite "long" and nothing against the reference library.
set -u
source "$(dirname "${BASH_SOURCE[0]}")/../optimize/setup.sh"
need "${build_packages[@]}" "${test_packages[@]}" || exit 3
folder=${ANTIPHASE_TEST_BUILD:-$project/build-tests}
quick=
if [ "${1:-}" = --quick ]; then
  quick=1
  shift
fi
echo "Building the tests (some minutes the first time) ..." >&2
build "$folder" -DANTIPHASE_TESTS=ON -DANTIPHASE_REFERENCE_TESTS=ON -- all || exit $?
cd "$folder" || exit 3
run() { ctest --output-on-failure -j "$(nproc)" "$@"; }
if [ -z "$quick" ] && [ $# -gt 0 ]; then
  run "$@"
  exit
fi
# What takes long runs last, so that a slip is told early.
long='^reference|^page: the vendored|^package'
failed=0
run -LE long -E "$long" "$@" || failed=1
if [ -z "$quick" ]; then
  run -L long || failed=1
  run -R "$long" || failed=1
fi
exit $failed
