#include "configs/read_design.h"
#include "configs/read_tolerances.h"
#include "tests/fuzz/fuzz.h"

using namespace antiphase;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  static const auto designs =
      read_design(ANTIPHASE_SOURCE "/configs/designs/high_mu_self_biased.json", fuzz::library());
  const auto read =
      read_tolerances_text(fuzz::text_of(bytes, size), "tolerances.json", std::get<Design>(designs));
  fuzz::check_errors(read);
  return 0;
}
