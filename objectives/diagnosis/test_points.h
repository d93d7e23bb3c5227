/// Test points: the nodes of a design that a meter is put to, numbered. Drawing, measuring sheet and files of
/// readings take their numbers from this one list.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "objectives/diagnosis/bench_readings.h"

namespace antiphase {

struct TestPoint {
  int number = 0;  ///< from 1
  Node node = kGround;
  std::string_view label;  ///< of the reading against ground there; empty: none is named
};

/// In the order of the direct readings: those against ground first, then what is left of the others.
/// Allocates.
std::vector<TestPoint> test_points(const Design&);

/// "2" for a reading against ground, "1-2" for one from point 1 to point 2.
std::string points_of(const BenchReading&, const std::vector<TestPoint>&);

}  // namespace antiphase
