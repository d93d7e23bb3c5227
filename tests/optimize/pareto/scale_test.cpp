#include "optimize/engine/pareto/scale.h"

#include <doctest/doctest.h>

using namespace antiphase::engine;

TEST_CASE("the scale runs from the best to the worst of each objective") {
  const std::vector<Point> points{{{0}, Judged{1, 0, {2, 30, 5}}, 0}, {{1}, Judged{2, 0, {6, 10, 5}}, 0}};
  const Scale scale = scale_of(points, 3);
  CHECK(scale(points[0].judged, 0) == 0);
  CHECK(scale(points[1].judged, 0) == 1);
  CHECK(scale(points[0].judged, 1) == 1);
  CHECK(scale(points[1].judged, 1) == 0);
  CHECK(scale(points[0].judged, 2) == 0);  // no width: nothing to divide by
  CHECK(scale(Judged{0, 0, {4, 20, 6}}, 0) == 0.5);
}

TEST_CASE("extremes are the least of each objective and ties go to the better point") {
  const std::vector<Point> points{
      {{0}, Judged{9, 0, {1, 8}}, 0}, {{1}, Judged{3, 0, {1, 7}}, 0}, {{2}, Judged{5, 0, {4, 2}}, 0}};
  const auto at = extremes(points, 2);
  CHECK(at[0] == 1);
  CHECK(at[1] == 2);
}
