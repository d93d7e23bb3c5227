#include "results/describe/two_tones.h"

#include "results/describe/missing_reason.h"
#include "results/describe/values.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

using Products = IntermodulationFigures::Products;

void add_method(ValueTable& table, const std::string& method, const std::array<Products, 3>& at,
                std::size_t columns) {
  const auto row = [&](const std::string& label, double Products::*figure) {
    table.rows.push_back({label});
    for (std::size_t i = 0; i < columns; ++i) table.rows.back().push_back(percent_text(at[i].*figure));
  };
  row(method + ", second order", &Products::second_pct);
  row(method + ", third order", &Products::third_pct);
  row(method + ", total", &Products::total_pct);
}

}  // namespace

ValueTable two_tone_table(const Record& r) {
  const IntermodulationFigures& two = r.evaluation.intermodulation;
  ValueTable table;
  table.caption = "Two tones at once, " + engineering_text(r.design.swing_peak_v, "V") +
                  " peak together per output: products in %";
  if (!asked(two.solved, r.evaluation)) return {};
  if (two.solved != Solved::yes) {
    table.notes = {missing_sentence("No figures of two tones", two.solved, r.evaluation)};
    return table;
  }
  const bool pair = outputs(r.design.circuit) == 2;
  table.columns = pair ? std::vector<std::string>{"", "output 1", "output 2", "difference"}
                       : std::vector<std::string>{"", "output"};
  add_method(table, "4:1 (60 Hz, 7 kHz)", two.low_and_high, pair ? 3 : 1);
  add_method(table, "1:1 (19 kHz, 20 kHz)", two.close_pair, pair ? 3 : 1);
  table.notes = {
      "4:1 is taken over the high tone, 1:1 over the sum of both tones. An order adds the sizes of its "
      "products "
      "(IEC 60268-3); the total is the root of the sum of all squares."};
  return table;
}

}  // namespace antiphase
