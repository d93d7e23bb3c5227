#include "objectives/diagnosis/test_points.h"

#include <algorithm>

namespace antiphase {
namespace {

int number_of(Node node, const std::vector<TestPoint>& points) {
  const auto it =
      std::find_if(points.begin(), points.end(), [&](const TestPoint& p) { return p.node == node; });
  return it == points.end() ? 0 : it->number;
}

}  // namespace

std::vector<TestPoint> test_points(const Design& d) {
  std::vector<TestPoint> points;
  const auto add = [&](Node node, std::string_view label) {
    if (node == kGround || number_of(node, points) > 0) return;
    points.push_back({static_cast<int>(points.size()) + 1, node, label});
  };
  const std::vector<BenchReading> readings = bench_readings(d);
  for (const BenchReading& r : readings)
    if (r.b == kGround) add(r.a, r.label);
  for (const BenchReading& r : readings)
    for (const Node node : {r.a, r.b}) add(node, {});
  return points;
}

std::string points_of(const BenchReading& r, const std::vector<TestPoint>& points) {
  const std::string from = std::to_string(number_of(r.a, points));
  return r.b == kGround ? from : from + "-" + std::to_string(number_of(r.b, points));
}

}  // namespace antiphase
