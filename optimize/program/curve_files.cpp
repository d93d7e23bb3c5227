#include "optimize/program/curve_files.h"

#include <algorithm>

#include "configs/curve_points.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/told_errors.h"

namespace antiphase {

int read_curve_files(const std::vector<std::string>& files, std::vector<PlacedPoint>& readings) {
  int code = kDone;
  for (const std::string& file : files) {
    const auto read = read_curve_points(file);
    if (const auto* errors = std::get_if<InputErrors>(&read)) {
      code = std::max(code, tell(*errors));
      continue;
    }
    const CurveFile& curve = std::get<CurveFile>(read);
    for (std::size_t k = 0; k < curve.points.size(); ++k)
      readings.push_back({curve.points[k], file, curve.lines[k]});
  }
  return code;
}

}  // namespace antiphase
