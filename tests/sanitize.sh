#!/usr/bin/env bash
# The whole suite under sanitizers, then the main job under valgrind. An hour and more on two cores.
# Usage: tests/sanitize.sh [address|thread|valgrind]...   default: all three. Arguments after -- go to ctest.
set -u
source "$(dirname "${BASH_SOURCE[0]}")/../optimize/setup.sh"
need "${build_packages[@]}" "${test_packages[@]}" libclang-rt-14-dev valgrind || exit 3
asked=()
while [ $# -gt 0 ] && [ "$1" != -- ]; do
  asked+=("$1")
  shift
done
[ $# -gt 0 ] && shift
[ ${#asked[@]} -gt 0 ] || asked=(address thread valgrind)
export UBSAN_OPTIONS=halt_on_error=1:print_stacktrace=1
failed=0
for kind in "${asked[@]}"; do
  folder=${ANTIPHASE_SANITIZER_BUILD:-$project/build-sanitize}-$kind
  case $kind in
  address | thread | valgrind) options=(-C "$project/optimize/presets/$kind.cmake") ;;
  *) echo "address, thread or valgrind" >&2 && exit 2 ;;
  esac
  if [ "$kind" = valgrind ]; then
    build "$folder" "${options[@]}" -- antiphase || exit $?
    valgrind --error-exitcode=9 --leak-check=full --errors-for-leak-kinds=definite -q \
      "$folder/optimize/program/antiphase" search "$project/configs/briefs/first_stage.json" --effort quick --quiet \
      --out "$folder/results" >/dev/null || failed=1
  else
    build "$folder" "${options[@]}" -- all || exit $?
    echo 'leak:libngspice' >"$folder/leaks_of_others"  # the reference library forgets netlists that it refuses
    export LSAN_OPTIONS=suppressions=$folder/leaks_of_others:print_suppressions=0
    # The package is one of the plain build, the page's solver is built by another compiler without sanitizers; memory
    # limits and the sanitizers' own reserves do not go together.
    left_out='^package|^page: the vendored|^page: driven|too little memory|hundred megabytes|device without end|hostile texts'
    (cd "$folder" && ctest --output-on-failure -j "$(nproc)" -E "$left_out" "$@") ||
      failed=1
  fi
done
exit $failed
