#include "results/describe/figure_text.h"

#include "objectives/figures/frequency.h"
#include "results/text/write_quantity.h"

namespace antiphase {

bool is_no_corner(std::string_view figure, double value) {
  if (figure == kLowCornerHz.name) return value <= FrequencyFigures::kLowest_hz;
  return figure == kHighCornerHz.name && value >= FrequencyFigures::kHighest_hz;
}

std::string named_figure_text(std::string_view figure, double value, std::string_view unit, int digits) {
  return is_no_corner(figure, value) ? "none" : engineering_text(value, unit, digits);
}

std::string figure_text(const Figure& figure, double value, int digits) {
  return named_figure_text(figure.name, value, figure.unit, digits);
}

}  // namespace antiphase
