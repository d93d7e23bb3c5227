#!/usr/bin/env bash
# For maintainers: builds live.wasm anew from stagemodels/, objectives/ and results/ (clang 14 and its C++
# library for WebAssembly needed) and says whether the vendored bytes are what comes out. With --update it takes
# the new bytes and their digest. Nothing in the ordinary build runs this.
# Exit: 0 the same (or taken), 1 different, 77 the tool chain is not here.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
cd "$here/../../.."
headers=/usr/lib/llvm-14/include/wasm32-wasi/c++/v1
if ! command -v clang++-14 >/dev/null || ! command -v wasm-ld-14 >/dev/null || [ ! -e $headers ] ||
  [ ! -e /usr/lib/wasm32-wasi/libc.a ] || [ ! -e /usr/include/eigen3/Eigen/LU ]; then
  echo "not here: clang-14 lld-14 libc++-14-dev-wasm32 libc++abi-14-dev-wasm32 libclang-rt-14-dev-wasm32 wasi-libc libeigen3-dev" >&2
  exit 77
fi
room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT
# Nobody reads errno; names of files and lines stay out; each function is a section, so that what is not called
# is left out. No wide vectors, and one matrix size for all networks: the same everywhere, and small.
flags=(--target=wasm32-wasi -std=c++20 -DNDEBUG -DANTIPHASE_PLAIN -fno-exceptions -fno-rtti
  -fvisibility=hidden -ffp-contract=off -fno-math-errno -ffunction-sections -fdata-sections -ffile-prefix-map="$PWD"=.
  -isystem "$headers" -isystem /usr/include/eigen3 -I.)
# Whole folders where they can be had, so that a new circuit, law, figure or limit comes along.
shopt -s extglob
sources=(results/page/live/live_entry.cpp results/make_record.cpp
  results/page/{circuit_drawing,curve_data,design_data,entry_blocks,loop_data,point_alignment,schematic}.cpp
  results/text/*.cpp results/json/{json_writer,design_json}.cpp results/describe/*.cpp
  objectives/{demands,part_supply,judgement,law_bands,explain}.cpp objectives/{figures,limits}/*.cpp
  objectives/builds/{build_model,faulty_parts,gain_without,readings}.cpp optimize/engine/sampling/statistics.cpp
  optimize/engine/snapping/*.cpp
  stagemodels/*.cpp stagemodels/{circuits,circuits/*,linear,solve}/*.cpp stagemodels/tubes/!(*fit*).cpp)
compile() {
  local size=-Oz
  case $1 in stagemodels/circuits/* | stagemodels/solve/* | stagemodels/tubes/* | stagemodels/linear/*) size=-O2 ;; esac
  ${ANTIPHASE_LAUNCHER:-} clang++-14 "${flags[@]}" $size -c "$1" -o "$room/$(tr / _ <<<"$1").o"
}
working=0
objects=()
for source in "${sources[@]}"; do
  compile "$source" &
  objects+=("$room/$(tr / _ <<<"$source").o")
  working=$((working + 1))
  if [ $working -ge "$(nproc)" ]; then
    wait -n
    working=$((working - 1))
  fi
done
wait
clang++-14 --target=wasm32-wasi -mexec-model=reactor -fuse-ld="$(command -v wasm-ld-14)" "${objects[@]}" -o "$room/live.wasm" \
  -Wl,--gc-sections,--strip-all,-z,stack-size=1048576
cd "$room"
sha256sum live.wasm >live.wasm.sha256
if [ "${1:-}" = --update ]; then
  cp live.wasm live.wasm.sha256 "$here"
  echo "took $(cut -c1-16 live.wasm.sha256)…, $(stat -c %s live.wasm) bytes"
elif cmp -s live.wasm "$here/live.wasm"; then
  echo "the vendored solver is what these sources give"
else
  echo "The vendored solver is not what these sources give: run results/page/live/rebuild.sh --update and commit live.wasm" >&2
  exit 1
fi
