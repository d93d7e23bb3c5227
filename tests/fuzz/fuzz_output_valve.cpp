#include "tests/fuzz/fuzz.h"

using namespace antiphase;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  fuzz::check_errors(read_output_valve_text(fuzz::text_of(bytes, size), "card.json"));
  return 0;
}
