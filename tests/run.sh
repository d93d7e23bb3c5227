#!/usr/bin/env bash
# Builds and runs all tests. Installs the packages they need (Debian 12). Arguments go to ctest,
# for instance: bash tests/run.sh -R ^stagemodels
set -u
source "$(dirname "${BASH_SOURCE[0]}")/../optimize/setup.sh"
need "${build_packages[@]}" "${test_packages[@]}" || exit 3
folder=${ANTIPHASE_TEST_BUILD:-$project/build-tests}
echo "Building the tests (some minutes the first time) ..." >&2
build "$folder" -DANTIPHASE_TESTS=ON -DANTIPHASE_REFERENCE_TESTS=ON -- all || exit $?
cd "$folder" && exec ctest --output-on-failure -j "$(nproc)" "$@"
