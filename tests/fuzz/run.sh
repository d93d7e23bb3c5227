#!/usr/bin/env bash
# Feeds every reader with arbitrary bytes under the address and undefined sanitizers.
# Usage: tests/fuzz/run.sh [SECONDS each, default 20]. Findings stand in the build folder; keep their inputs in
# tests/fuzz/corpus/TARGET, from where every later run begins.
set -eu
cd "$(dirname "$0")/../.."
seconds=${1:-20}
folder=${ANTIPHASE_FUZZ_BUILD:-build-fuzz}
cmake -G Ninja -S . -B "$folder" -DCMAKE_CXX_COMPILER=clang++ -DANTIPHASE_TESTS=OFF -DANTIPHASE_FUZZ=ON >/dev/null
targets=(brief design tube_card output_valve curve_points quantity)
cmake --build "$folder" --target "${targets[@]/#/fuzz_}" >"$folder/build.log" 2>&1 || { tail -40 "$folder/build.log"; exit 1; }
declare -A seeds=([brief]=configs/briefs [design]=configs/designs [tube_card]=configs/tubes
  [output_valve]=configs/output_valves [curve_points]=configs/curves)
failed=0
for target in "${targets[@]}"; do
  mkdir -p "$folder/grown/$target" "tests/fuzz/corpus/$target"
  if "$folder/tests/fuzz/fuzz_$target" -max_total_time="$seconds" -timeout=20 -rss_limit_mb=2048 -max_len=20000 \
    -artifact_prefix="$folder/finding_${target}_" "$folder/grown/$target" "tests/fuzz/corpus/$target" ${seeds[$target]:-} \
    >"$folder/$target.log" 2>&1; then
    echo "$target: $(grep -oE 'Done [0-9]+ runs in [0-9]+ second' "$folder/$target.log" | tail -1)s, no finding"
  else
    echo "$target: FINDING, see $folder/$target.log"
    tail -15 "$folder/$target.log"
    failed=1
  fi
done
exit $failed
