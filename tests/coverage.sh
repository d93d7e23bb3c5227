#!/usr/bin/env bash
# Which lines of the project the suite runs: a table by folder and file, and the whole; ends with 1 below 90 %.
# Usage: tests/coverage.sh [arguments of ctest]. Half an hour on two cores. Writes FOLDER/lines/index.html too.
set -u
source "$(dirname "${BASH_SOURCE[0]}")/../optimize/setup.sh"
need "${build_packages[@]}" "${test_packages[@]}" gcovr || exit 3
folder=${ANTIPHASE_COVERAGE_BUILD:-$project/build-coverage}
build "$folder" -DANTIPHASE_COVERAGE=ON -DANTIPHASE_REFERENCE_TESTS=ON -- all || exit $?
find "$folder" -name '*.gcda' -delete
# The page's solver is built by another compiler, the package from a build of its own.
(cd "$folder" && ctest -j "$(nproc)" -E '^package|^page: the vendored' "$@" >"$folder/ctest.log") ||
  echo "Some tests failed under counting, see $folder/ctest.log" >&2
mkdir -p "$folder/lines"
/usr/bin/gcovr --root "$project" --object-directory "$folder" --filter "$project/(stagemodels|objectives|optimize|configs|results)/" \
  -j "$(nproc)" --html-details "$folder/lines/index.html" --txt - --fail-under-line 90 "$folder"
