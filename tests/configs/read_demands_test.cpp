#include "configs/read_demands.h"

#include <doctest/doctest.h>

using namespace antiphase;

TEST_CASE("a chain has every figure, a pair those without a first stage, a gain stage none of two outputs") {
  for (const auto& figure : figures()) {
    CAPTURE(figure.name);
    CHECK(has_figure(CircuitKind::gain_and_splitter, figure));
    const bool chain_only = figure.name.starts_with("first_") || figure.name.starts_with("feedback_");
    CHECK(has_figure(CircuitKind::long_tailed_pair, figure) == !chain_only);
    const bool compares = figure.name.find("balance") != std::string_view::npos;
    if (compares) CHECK_FALSE(has_figure(CircuitKind::common_cathode, figure));
  }
  for (const char* name :
       {"distortion_pct", "gain", "output_impedance_ohm", "headroom_db", "supply_current_a"})
    CHECK(has_figure(CircuitKind::common_cathode, *find_figure(name)));
}
