// The stage models once more, compiled for plain x86-64 with scalar exp and log (ANTIPHASE_PLAIN): a program
// of its own, for two builds of one library cannot live in one. Prints the figures of the fixed set of
// designs, every digit; with the argument "time", microseconds per evaluation at the target and with clean
// swing.
#include <cstdio>
#include <cstring>

#include "tests/stagemodels/plain/figures_of_designs.h"
#include "tests/stagemodels/plain/time_of_designs.h"

int main(int argc, char** argv) {
  using namespace antiphase::testing;
  if (argc > 1 && std::strcmp(argv[1], "time") == 0) {
    const PathTimes t = time_of_designs();
    std::printf("%.6f %.6f\n", t.at_target_us, t.full_us);
    return 0;
  }
  for (const Figure& f : figures_of_designs()) std::printf("%.17g\n", f.value);
}
