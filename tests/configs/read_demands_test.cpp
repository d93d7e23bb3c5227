#include "configs/read_demands.h"

#include <doctest/doctest.h>

using namespace antiphase;

TEST_CASE("a pair has every figure, a gain stage none that compares two outputs") {
  for (const auto& figure : figures()) {
    CAPTURE(figure.name);
    CHECK(has_figure(CircuitKind::long_tailed_pair, figure));
    const bool compares = figure.name.find("balance") != std::string_view::npos;
    if (compares) CHECK_FALSE(has_figure(CircuitKind::common_cathode, figure));
  }
  for (const char* name :
       {"distortion_pct", "gain", "output_impedance_ohm", "headroom_db", "supply_current_a"})
    CHECK(has_figure(CircuitKind::common_cathode, *find_figure(name)));
}
