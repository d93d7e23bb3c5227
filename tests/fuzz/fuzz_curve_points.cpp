#include "configs/curve_points.h"
#include "tests/fuzz/fuzz.h"

using namespace antiphase;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  const std::string text = fuzz::text_of(bytes, size);
  const auto read = parse_curve_points(text, "points.csv");
  fuzz::check_errors(read);
  if (const CurveFile* file = std::get_if<CurveFile>(&read))
    fuzz::promise(file->lines.size() == file->points.size());
  return 0;
}
