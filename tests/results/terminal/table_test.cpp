#include "results/terminal/table.h"

#include <doctest/doctest.h>

using namespace antiphase;
using A = Table::Align;

TEST_CASE("columns line up by columns on the screen, numbers by their point") {
  Table t({{"part", A::left}, {"value\nkΩ", A::point}, {"", A::right}});
  t.add_row({"Ω one", "4.7", "a"});
  t.add_row({"two", "110", "bc"});
  CHECK(t.text() ==
        "      value\n"
        "part     kΩ\n"
        "----- ----- --\n"
        "Ω one   4.7  a\n"
        "two   110   bc\n");
  CHECK(t.width() == 14);
}

TEST_CASE("a table without headings has no rule, and short rows are filled") {
  Table t({{"", A::left}, {"", A::right}}, 2);
  t.add_row({"a", "1"});
  t.add_row({"long"});
  CHECK(t.text(1) == " a     1\n long\n");
  CHECK_FALSE(t.empty());
}

TEST_CASE(
    "a table that is too wide comes closer together, then becomes several that begin with the same column") {
  Table t({{"rank", A::right}, {"tube", A::left}, {"supply\nV", A::right}, {"bias", A::right}}, 2);
  t.add_row({"1", "12AX7", "320", "820 Ω"});
  CHECK(t.text_within(t.width()) == t.text());
  CHECK(t.text_within(t.width() - 1) ==
        "           supply\n"
        "rank tube       V  bias\n"
        "---- ----- ------ -----\n"
        "   1 12AX7    320 820 Ω\n");
  CHECK(t.text_within(20, 1) ==
        "              supply\n"
        " rank  tube        V\n"
        " ----  -----  ------\n"
        "    1  12AX7     320\n"
        "\n"
        " rank   bias\n"
        " ----  -----\n"
        "    1  820 Ω\n");
}
