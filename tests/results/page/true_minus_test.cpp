#include "results/page/true_minus.h"

#include <doctest/doctest.h>

using namespace antiphase;

TEST_CASE("a sign becomes the true minus, a hyphen and a range stay") {
  CHECK(with_true_minus("-3.17 V") == "\u22123.17 V");
  CHECK(with_true_minus("5 % (-0.2 to -80 V)") == "5 % (\u22120.2 to \u221280 V)");
  CHECK(with_true_minus("push-pull, 10-20, 12AX7-2, -") == "push-pull, 10-20, 12AX7-2, -");
  CHECK(with_true_minus("") == "");
}
