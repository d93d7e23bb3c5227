#!/usr/bin/env bash
# The check of the check: check_layers.sh passes a clean tree and stops at each kind of wrong include.
set -u
here=$(cd "$(dirname "$0")" && pwd)
tree=$(mktemp -d) && trap 'rm -rf "$tree"' EXIT
mkdir -p "$tree"/{stagemodels,objectives,optimize/engine,optimize/studies,configs,results/text}
failed=0
expect() { # wanted exit code, what
  bash "$here/check_layers.sh" "$tree" >/dev/null 2>&1
  local got=$?
  [ "$got" -eq "$1" ] || { echo "$2: exit $got, wanted $1"; failed=1; }
}
echo '#include "stagemodels/design.h"' >"$tree/objectives/fine.h"
echo '#include "results/text/wording.h"' >"$tree/configs/fine.h"
echo '#include "results/text/units.h"' >"$tree/results/text/fine.h"
expect 0 "a clean tree"
wrong() { # file, line
  echo "$2" >"$tree/$1"
  expect 1 "$1 with $2"
  rm "$tree/$1"
}
wrong stagemodels/a.h '#include "objectives/demands.h"'
wrong optimize/engine/a.h '#include "stagemodels/design.h"'
wrong objectives/a.cpp '#include "configs/brief.h"'
wrong configs/a.h '#include "results/report.h"'
wrong configs/a.h '#include "results/textures.h"'
wrong results/a.cpp '#include "configs/brief.h"'
wrong optimize/studies/a.cpp '#include "optimize/program/exit_codes.h"'
wrong optimize/engine/a.h '#include "optimize/studies/trouble.h"'
wrong objectives/a.h '#include "optimize/studies/trouble.h"'
wrong configs/a.h '#include "optimize/studies/trouble.h"'
wrong results/a.h '#include "optimize/studies/trouble.h"'
wrong optimize/studies/a.cpp '#include <fstream>'
wrong optimize/studies/a.cpp 'void f() { std::fputs("x", stderr); }'
wrong optimize/studies/a.cpp 'void f() { std::exit(2); }'
wrong optimize/studies/a.cpp 'void f() { std::cout << 1; }'
wrong results/text/a.h '#include "results/report.h"'
wrong results/text/a.cpp '#include "stagemodels/design.h"'
wrong results/text/a.cpp '#include "optimize/engine/order.h"'
wrong objectives/a.cpp '#include "results/text/wording.h"'
wrong stagemodels/a.cpp '#include <iostream>'
wrong objectives/a.cpp 'void f() { throw 1; }'
wrong results/a.h '#include <nlohmann/json.hpp>'
wrong optimize/engine/a.cpp 'int triode;'
exit $failed
