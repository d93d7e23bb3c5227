#!/usr/bin/env bash
# Feeds every reader with arbitrary bytes under the address and undefined sanitizers (clang, libFuzzer).
# Usage: tests/fuzz/run.sh [SECONDS each, default 20]. Inputs that led to a finding belong into
# tests/fuzz/corpus/TARGET, from where every later run begins.
set -eu
cd "$(dirname "$0")/../.."
seconds=${1:-20}
folder=${ANTIPHASE_FUZZ_BUILD:-build-fuzz}
targets=(brief design tube_card output_valve curve_points stock tolerances quantity command_line)
cmake -G Ninja -S . -B "$folder" -DCMAKE_C_COMPILER=clang -DCMAKE_CXX_COMPILER=clang++ -DANTIPHASE_TESTS=OFF \
  -DANTIPHASE_FUZZ=ON >/dev/null
cmake --build "$folder" --target "${targets[@]/#/fuzz_}" >"$folder/build.log" 2>&1 ||
  { tail -40 "$folder/build.log"; exit 1; }
declare -A shipped=([brief]=configs/briefs [design]=configs/designs [tube_card]=configs/tubes
  [output_valve]=configs/output_valves [curve_points]=configs/curves)
failed=0
for target in "${targets[@]}"; do
  grown=$folder/grown/$target
  mkdir -p "$grown"
  from=("$grown")
  for seeds in "tests/fuzz/corpus/$target" ${shipped[$target]:-}; do
    if [ -d "$seeds" ]; then from+=("$seeds"); fi
  done
  if "$folder/tests/fuzz/fuzz_$target" -max_total_time="$seconds" -timeout=20 -rss_limit_mb=2048 -max_len=20000 \
    -artifact_prefix="$folder/finding_${target}_" "${from[@]}" >"$folder/$target.log" 2>&1; then
    printf '%-14s %s s, no finding\n' "$target" "$(grep -oE '[0-9]+ runs in [0-9]+' "$folder/$target.log" | tail -1)"
  else
    printf '%-14s FINDING, see %s\n' "$target" "$folder/$target.log"
    tail -15 "$folder/$target.log"
    failed=1
  fi
done
exit $failed
