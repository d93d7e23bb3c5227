/// What the page's script draws of one design, as members of a JSON object that is being written.
#pragma once

#include <optional>
#include <vector>

#include "results/json/json_writer.h"
#include "results/report.h"

namespace antiphase {

inline constexpr int kPlotDigits = 5;  ///< of numbers that are drawn: far below a pixel

/// The words of the limits, which every design would repeat. Records are taken before they are written.
class LimitKinds {
 public:
  void take(const Record&);
  std::size_t place_of(const LimitResult&) const;
  void write(JsonWriter&) const;  ///< member "limit_kinds"

 private:
  std::vector<LimitResult> kinds_;
};

void write_figures(JsonWriter&, const std::vector<std::optional<double>>& values);  ///< member "figures"

/// What an evaluation to the target gives, and the design as a file.
void write_design_part(JsonWriter&, const Record&, const LimitKinds&);

/// What needs an evaluation to Depth::everything: sections, clean_db, levels, response, loop.
void write_pictures_part(JsonWriter&, const Record&);

}  // namespace antiphase
