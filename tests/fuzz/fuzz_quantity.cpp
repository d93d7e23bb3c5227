#include <cmath>

#include "results/text/read_quantity.h"
#include "results/text/write_quantity.h"
#include "tests/fuzz/fuzz.h"

using namespace antiphase;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  const std::string text = fuzz::text_of(bytes, size);
  for (const char* unit : {"ohm", "F", "V", "A", "%", "dB", "1", "Hz"})
    if (const auto value = read_quantity(text, unit)) {
      fuzz::promise(std::isfinite(*value));
      fuzz::promise(!engineering_text(*value, unit).empty());
      // written with 15 digits it reads back within half a unit of the last, 5e-15 of a leading 1, and the
      // rounding of two doubles
      const auto again = read_quantity(exactly(*value, unit), unit);
      fuzz::promise(
          again && (*again == *value || std::fabs(*again - *value) <= (5e-15 + 2.3e-16) * std::fabs(*value)));
    }
  return 0;
}
