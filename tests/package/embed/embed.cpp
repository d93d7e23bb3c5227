// The solver in a program of one's own: reads a card and a design, prints the rest point and the distortion.
#include <cstdio>

#include "configs/read_design.h"
#include "stagemodels/evaluate.h"

int main(int argc, char** argv) {
  if (argc != 3) return 2;
  const auto library = antiphase::read_tube_library(argv[1]);
  if (std::holds_alternative<antiphase::InputErrors>(library)) return 3;
  const auto design = antiphase::read_design(argv[2], std::get<antiphase::TubeLibrary>(library));
  if (const auto* errors = std::get_if<antiphase::InputErrors>(&design)) {
    std::puts(antiphase::in_words(*errors).c_str());
    return 2;
  }
  antiphase::Evaluation e;
  antiphase::evaluate(std::get<antiphase::Design>(design), antiphase::Depth::full, e);
  std::printf("cathode %.2f V, distortion %.3f %% and %.3f %%\n", e.operating_point.cathode_v,
              e.at_target.thd_pct[0], e.at_target.thd_pct[1]);
  return e.at_target.solved == antiphase::Solved::yes ? 0 : 1;
}
