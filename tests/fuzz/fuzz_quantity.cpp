#include <cmath>

#include "configs/quantity_text.h"
#include "tests/fuzz/fuzz.h"

using namespace antiphase;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  const std::string text = fuzz::text_of(bytes, size);
  for (const char* unit : {"ohm", "F", "V", "A", "%", "dB", "1", "Hz"})
    if (const auto value = parse_quantity(text, unit)) {
      fuzz::promise(std::isfinite(*value));
      fuzz::promise(!engineering(*value, unit).empty());
      // what is written with every digit reads back as the same number
      const auto again = parse_quantity(exactly(*value, unit), unit);
      fuzz::promise(again && (*again == *value || std::fabs(*again - *value) <= 1e-15 * std::fabs(*value)));
    }
  return 0;
}
