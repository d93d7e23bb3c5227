#include "results/text/html.h"

#include <doctest/doctest.h>

using namespace antiphase;

TEST_CASE("markup in text stays text, between tags and in attributes") {
  CHECK(html("</script><b>x") == "&lt;/script&gt;&lt;b&gt;x");
  CHECK(html("\" onload='a' & b") == "&quot; onload=&#39;a&#39; &amp; b");
  CHECK(html("47 kΩ") == "47 kΩ");
  CHECK(html_element("td", "a<b") == "<td>a&lt;b</td>");
}
