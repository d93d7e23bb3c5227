#!/usr/bin/env bash
# Includes run downward only: program -> studies -> configs | results -> objectives -> stagemodels | optimize/engine;
# results/text stands below configs and results and includes nothing of the project but itself.
# Given a folder (for the check of this check), looks there instead of at the project.
cd "${1:-$(dirname "$0")/..}" || exit 2
look() { grep -rnE --include='*.h' --include='*.cpp' "#include \"($1)/" "${@:2}" 2>/dev/null; }
bad=$(look 'configs|results|objectives|optimize' stagemodels
      look 'configs|results|objectives|stagemodels|optimize/studies|optimize/program' optimize/engine
      look 'configs|results|optimize/studies|optimize/program' objectives
      look 'results|optimize/studies|optimize/program' configs | grep -v '#include "results/text/'
      look '[a-z]+' results/text | grep -v '#include "results/text/'
      look 'configs|optimize/studies|optimize/program' results
      look 'optimize/program' optimize/studies
      # what must stay pure: no exceptions, threads, files, JSON or printing
      grep -rnE --include='*.h' --include='*.cpp' '^[^/"]*\b(throw|try|catch)\b *[({;a-zA-Z0-9"]|#include <(iostream|fstream|thread|mutex|filesystem|tbb/|nlohmann|nlopt)' stagemodels objectives 2>/dev/null
      # studies give a result or trouble as a value: no printing, files, command line, signals or end of the program
      grep -rnE --include='*.h' --include='*.cpp' '\b(stdout|stderr|argv)\b|\b(f?printf|f?puts|_?exit|abort) *\(|std::(cout|cerr)|#include <(iostream|fstream|filesystem|csignal|unistd\.h|CLI/)' optimize/studies 2>/dev/null
      # heavy libraries are included in sources, never in headers
      grep -rnE --include='*.h' '#include <(nlohmann/json\.hpp|iostream|nlopt\.hpp|tbb/|CLI/)' stagemodels objectives optimize configs results 2>/dev/null
      # the engine knows no circuit
      grep -rniE --include='*.h' --include='*.cpp' '\b(triode|tube|cathode|plate_ohm|valve)\b' optimize/engine 2>/dev/null)
[ -z "$bad" ] || { printf 'against the arrows of DEVELOPERS.md:\n%s\n' "$bad"; exit 1; }
echo "layers: all includes run downward"
