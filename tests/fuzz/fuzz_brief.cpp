#include "configs/read_brief.h"
#include "objectives/design_problem.h"
#include "tests/fuzz/fuzz.h"

using namespace antiphase;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  const auto read = read_brief_text(fuzz::text_of(bytes, size), "brief.json", fuzz::library());
  fuzz::check_errors(read);
  if (const Brief* brief = std::get_if<Brief>(&read)) {
    fuzz::promise(!brief_in_words(*brief).empty());
    const DesignProblem problem(brief->space, brief->demands);
    Evaluation scratch;
    for (const engine::Family& family : problem.families()) {  // the middle of each lattice is judged
      std::vector<double> x;
      for (const engine::Axis& axis : family.parts.axes) x.push_back(axis.levels[axis.levels.size() / 2]);
      const engine::Judged judged = family.parts.make_judge()(x);
      fuzz::promise(judged.cost == judged.cost && judged.violation == judged.violation);
    }
  }
  return 0;
}
