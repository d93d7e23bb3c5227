// Readings of one tube, from bytes to the section that is made of them.
#include <cmath>

#include "configs/tube_readings.h"
#include "tests/fuzz/fuzz.h"

using namespace antiphase;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  const auto read = parse_tube_readings(fuzz::text_of(bytes, size), "tube.csv");
  fuzz::check_errors(read);
  const TubeReadingsFile* file = std::get_if<TubeReadingsFile>(&read);
  if (!file) return 0;
  fuzz::promise(file->lines.size() == file->readings.size());
  const Tube* tube = fuzz::library().find("6SL7GT");
  if (!impossible_readings(*file, *tube, tube->law()).list.empty()) return 0;
  const OwnTube own = own_tube(*tube, tube->law(), true, {}, file->readings);
  for (const OwnSection& s : own.section) {
    fuzz::promise(s.spread.current > 0 && std::isfinite(s.spread.current));
    fuzz::promise(s.spread.mu > 0 && std::isfinite(s.spread.mu));
    fuzz::promise(s.current.low <= s.current.high && s.current.decided >= 0);
  }
  return 0;
}
