#include "configs/read_design.h"
#include "objectives/demands.h"
#include "stagemodels/evaluate.h"
#include "tests/fuzz/fuzz.h"

using namespace antiphase;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  const auto read = read_design_text(fuzz::text_of(bytes, size), "design.json", fuzz::library());
  fuzz::check_errors(read);
  if (const Design* design = std::get_if<Design>(&read)) {
    static Evaluation e;
    evaluate(*design, Depth::full, e);
    for (const Figure& figure : figures())
      if (const auto value = figure.measure(*design, e)) fuzz::promise(*value == *value);
    check_limits(*design, e, {});
  }
  return 0;
}
