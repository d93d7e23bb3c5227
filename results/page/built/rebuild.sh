#!/usr/bin/env bash
# For maintainers: makes what stands in this folder anew and says whether the bytes here are what comes out.
#   rebuild.sh [--update] [solver] [charts]
# solver: live.wasm of stagemodels/, objectives/ and results/ (clang 14 and its C++ library for WebAssembly).
# charts: charts.min.js of the lock file (Node.js, npm and a registry of packages). Without a name: the solver alone if
# only compared, since the charts do not depend on our sources. --update takes the new bytes and their digests.
# Nothing in the ordinary build runs this; the licences are kept by hand.
# Exit: 0 the same (or taken), 1 different, 77 a tool is not here (1 with ANTIPHASE_NO_SKIPS=1).
set -euo pipefail
shopt -s extglob # before the functions are read that use it
here=$(cd "$(dirname "$0")" && pwd)
room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT
update=
[ "${1:-}" = --update ] && update=1 && shift

skip() {
  echo "skipped: not here: $*" >&2
  [ "${ANTIPHASE_NO_SKIPS:-}" = 1 ] && echo "and ANTIPHASE_NO_SKIPS forbids to skip" >&2 && exit 1
  exit 77
}

# Compares the file that was made with the one here, or takes it.
settle() { # name
  cd "$room"
  sha256sum "$1" >"$1.sha256"
  if [ -n "$update" ]; then
    cp "$1" "$1.sha256" "$here"
    echo "took $1: $(cut -c1-16 "$1.sha256")…, $(stat -c %s "$1") bytes"
  elif cmp -s "$1" "$here/$1"; then
    echo "$1 is what its sources give"
  else
    echo "$1 is not what its sources give: run results/page/built/rebuild.sh --update $target and commit what changed" >&2
    exit 1
  fi
}

compile() {
  local size=-Oz
  case $1 in stagemodels/circuits/* | stagemodels/solve/* | stagemodels/tubes/* | stagemodels/linear/*) size=-O2 ;; esac
  ${ANTIPHASE_LAUNCHER:-} clang++-14 "${flags[@]}" $size -c "$1" -o "$room/$(tr / _ <<<"$1").o"
}

make_solver() {
  local headers=/usr/lib/llvm-14/include/wasm32-wasi/c++/v1
  if ! command -v clang++-14 >/dev/null || ! command -v wasm-ld-14 >/dev/null || [ ! -e $headers ] ||
    [ ! -e /usr/lib/wasm32-wasi/libc.a ] || [ ! -e /usr/include/eigen3/Eigen/LU ]; then
    skip clang-14 lld-14 libc++-14-dev-wasm32 libc++abi-14-dev-wasm32 libclang-rt-14-dev-wasm32 wasi-libc libeigen3-dev
  fi
  cd "$here/../../.."
  # Nobody reads errno; names of files and lines stay out; each function is a section, so that what is not called
  # is left out. No wide vectors, and one matrix size for all networks: the same everywhere, and small.
  flags=(--target=wasm32-wasi -std=c++20 -DNDEBUG -DANTIPHASE_PLAIN -fno-exceptions -fno-rtti
    -fvisibility=hidden -ffp-contract=off -fno-math-errno -ffunction-sections -fdata-sections -ffile-prefix-map="$PWD"=.
    -isystem "$headers" -isystem /usr/include/eigen3 -I.)
  # Whole folders where they can be had, so that a new circuit, law, figure or limit comes along. The reader of
  # quantities stays out: the page reads none with it, and this C++ library reads no numbers yet.
  local sources=(results/page/live/live_entry.cpp results/make_record.cpp
    results/page/{circuit_drawing,entry_blocks,point_alignment,schematic,true_minus}.cpp results/plots/!(shown_designs).cpp
    results/text/!(read_*).cpp results/json/{json_writer,design_json}.cpp results/describe/*.cpp
    objectives/{demands,part_supply,judgement,law_bands,explain}.cpp objectives/{figures,limits}/*.cpp
    objectives/builds/{build_model,faulty_parts,gain_without,readings}.cpp
    objectives/diagnosis/{bench_readings,test_points}.cpp optimize/engine/sampling/statistics.cpp
    optimize/engine/snapping/*.cpp
    stagemodels/*.cpp stagemodels/{circuits,circuits/*,linear,output,solve}/*.cpp stagemodels/tubes/!(*fit*).cpp stagemodels/tubes/fit_data.cpp)
  local working=0 objects=() source
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
  clang++-14 --target=wasm32-wasi -mexec-model=reactor -fuse-ld="$(command -v wasm-ld-14)" "${objects[@]}" \
    -o "$room/live.wasm" -Wl,--gc-sections,--strip-all,-z,stack-size=1048576
  if grep -q wasi_snapshot_preview1 "$room/live.wasm"; then
    echo "live.wasm asks for an operating system, which a page is not: something in it prints or opens files" >&2
    exit 1
  fi
  settle live.wasm
}

version() { node -p "require('./node_modules/$1/package.json').version"; }

make_charts() {
  command -v node >/dev/null && command -v npm >/dev/null || skip nodejs npm
  cp "$here"/{entry.mjs,package.json,package-lock.json} "$room"
  cd "$room"
  npm ci --ignore-scripts --no-audit --no-fund >/dev/null
  local banner="/*! Apache ECharts $(version echarts), zrender $(version zrender), tslib $(version tslib): \
the parts that entry.mjs names, bundled and minified. Licences: LICENCES.txt, and inside each report page. */"
  npx esbuild entry.mjs --bundle --minify --format=iife --target=es2020 --charset=ascii --legal-comments=none \
    --define:process.env.NODE_ENV='"production"' --banner:js="$banner" --log-level=warning --outfile=charts.min.js
  settle charts.min.js
  [ -z "$update" ] || echo "look at LICENCES.txt if a version changed"
}

[ $# -gt 0 ] || set -- solver
for target in "$@"; do
  case $target in
  solver | charts) "make_$target" ;;
  *) echo "solver or charts, not $target" >&2 && exit 2 ;;
  esac
done
