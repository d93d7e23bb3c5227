#!/usr/bin/env bash
# Feeds every reader with arbitrary bytes under the address and undefined sanitizers (clang, libFuzzer), as many at once
# as there are processors. Usage: tests/fuzz/run.sh [SECONDS each, default 20] [TARGET]...
# Inputs that led to a finding belong into tests/fuzz/corpus/TARGET, from where every later run begins.
set -u
source "$(dirname "${BASH_SOURCE[0]}")/../../optimize/setup.sh"
need "${build_packages[@]}" clang-14 libclang-rt-14-dev || exit 3
cd "$project" || exit 3
seconds=${1:-20}
shift
targets=("$@")
[ ${#targets[@]} -gt 0 ] || targets=(brief design tube_card output_valve curve_points stock tolerances meter tube_readings quantity command_line)
folder=${ANTIPHASE_FUZZ_BUILD:-$project/build-fuzz}
echo "Building the fuzz targets ..." >&2
build "$folder" -DCMAKE_C_COMPILER=clang-14 -DCMAKE_CXX_COMPILER=clang++-14 -DANTIPHASE_TESTS=OFF -DANTIPHASE_FUZZ=ON \
  -- "${targets[@]/#/fuzz_}" || exit $?
declare -A shipped=([brief]=configs/briefs [design]=configs/designs [tube_card]=configs/tubes
  [output_valve]=configs/output_valves [curve_points]=configs/curves)

feed() {  # one target; prints its line, ends with 1 at a finding
  local target=$1 grown=$folder/grown/$1 log=$folder/$1.log seeds
  local from=("$grown")
  mkdir -p "$grown"
  for seeds in "tests/fuzz/corpus/$target" ${shipped[$target]:-}; do
    if [ -d "$seeds" ]; then from+=("$seeds"); fi
  done
  if "$folder/tests/fuzz/fuzz_$target" -max_total_time="$seconds" -timeout=120 -rss_limit_mb=2048 -max_len=20000 \
    -artifact_prefix="$folder/finding_${target}_" "${from[@]}" >"$log" 2>&1; then
    printf '%-14s %s s, no finding\n' "$target" "$(grep -aoE '[0-9]+ runs in [0-9]+' "$log" | tail -1)"
  else
    printf '%-14s FINDING, see %s\n%s\n' "$target" "$log" "$(tail -15 "$log")"
    return 1
  fi
}

failed=0
for target in "${targets[@]}"; do
  while [ "$(jobs -rp | wc -l)" -ge "$(nproc)" ]; do wait -n || failed=1; done
  feed "$target" &
done
while [ -n "$(jobs -p)" ]; do
  wait -n
  case $? in 0) ;; 127) break ;; *) failed=1 ;; esac
done
exit $failed
