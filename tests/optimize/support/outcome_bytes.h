/// An outcome of a search as bytes, so that two can be compared whole.
#pragma once

#include <cstdint>
#include <cstring>
#include <string>
#include <vector>

#include "optimize/engine/search.h"

namespace antiphase::engine::testing {

inline std::string bytes_of(const SearchOutcome& out) {
  std::string bytes;
  const auto number = [&](double v) {
    char raw[sizeof v];
    std::memcpy(raw, &v, sizeof v);
    bytes.append(raw, sizeof v);
  };
  const auto points = [&](const std::vector<Point>& list) {
    number(static_cast<double>(list.size()));
    for (const Point& p : list) {
      number(p.family);
      for (const double v : p.x) number(v);
      number(p.judged.cost);
      number(p.judged.violation);
      for (const double v : p.judged.objective) number(v);
    }
  };
  number(static_cast<double>(out.stop));
  points(out.best);
  points(out.front);
  points(out.cloud);
  points(out.best_by_family);
  number(static_cast<double>(out.evaluations_ideal));
  number(static_cast<double>(out.evaluations_parts));
  for (const std::int64_t n : out.evaluations_by_family) number(static_cast<double>(n));
  return bytes;
}

}  // namespace antiphase::engine::testing
