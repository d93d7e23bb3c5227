// A fit without a process. Readings are made from a law with known parameters, so that the law is the
// expectation.
#include <doctest/doctest.h>

#include "optimize/studies/fit/fit_card.h"
#include "optimize/studies/fit/law_forms.h"
#include "tests/support/shipped.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

/// The law of the 12AX7 card that the readings follow.
const TriodeLaw& law_of_card() {
  for (const TubeModel& m : shipped().find("12AX7")->models)
    if (form_of(m.law) == "koren_1996") return m.law;
  FAIL("the card of the 12AX7 has no koren_1996 law");
  return shipped().find("12AX7")->models.front().law;
}

double current_a(const TriodeLaw& law, const CurvePoint& p) {
  FitObservation o;
  o.plate_v = p.plate_v;
  o.grid_v = p.grid_v;
  return characteristic_of(law, o).value_or(0);
}

FitRequest request_for(const std::string& tube) {
  FitRequest request;
  request.tube = tube;
  request.form = Koren1996{};
  request.made_by = "this test";
  for (int grid = 0; grid <= 5; ++grid)
    for (int plate = 1; plate <= 12; ++plate) {
      CurvePoint p{-0.5 * grid, 30.0 * plate, 0};
      p.plate_current_a = current_a(law_of_card(), p);
      if (p.plate_current_a > 5e-5)
        request.points.push_back({p, "made.csv", static_cast<int>(request.points.size()) + 2});
    }
  return request;
}

FittedCard fitted(const FitRequest& request) {
  const auto answer = fit_card(request, shipped());
  if (const auto* trouble = std::get_if<Trouble>(&answer)) FAIL(trouble->what);
  return std::get<FittedCard>(answer);
}

}  // namespace

TEST_CASE("readings of a law give that law back, for a type that has no card") {
  const FitRequest request = request_for("XY99");
  REQUIRE(request.points.size() > 30);
  const FittedCard made = fitted(request);
  for (const PlacedPoint& p : request.points)  // cards carry five digits of each parameter
    CHECK(within(current_a(made.law, p.point), p.point.plate_current_a, 1e-2 * p.point.plate_current_a));
  CHECK(made.tube.name == "XY99");
  REQUIRE(made.tube.models.size() == 1);
  CHECK(made.tube.models.front().source.ends_with("made by: this test"));
  CHECK(made.card.find("\"fill in\"") != std::string::npos);
  CHECK(made.report.find("there is no card of the XY99 yet") != std::string::npos);
}

TEST_CASE("a reading that is a thousand times off is left out and named with its line, and the law stays") {
  FitRequest request = request_for("XY99");
  const FittedCard clean = fitted(request);
  const PlacedPoint stray = request.points[20];
  request.points[20].point.plate_current_a *= 1000;
  const FittedCard made = fitted(request);
  CHECK(made.curve.size() + 1 == clean.curve.size());
  CHECK(made.report.find("made.csv:" + std::to_string(stray.line) + ": reads") != std::string::npos);
  CHECK(within(current_a(made.law, stray.point), stray.point.plate_current_a,
               1e-2 * stray.point.plate_current_a));
}

TEST_CASE("a second fit of the same kind takes the place of the first, and the rest of the card stays") {
  const FitRequest request = request_for("12AX7");
  const FittedCard first = fitted(request);
  const Tube& card = *shipped().find("12AX7");
  std::size_t own = 0;
  for (const TubeModel& m : card.models)
    own += form_of(m.law) == "koren_1996" && m.source.starts_with("own fit") &&
           m.source.find(" --towards ") == std::string::npos;
  CHECK(first.tube.models.size() == card.models.size() + (own == 0 ? 1 : 0));
  CHECK(first.tube.published_points.size() == card.published_points.size());
  CHECK(first.card.find("\"ratings\"") != std::string::npos);
}

TEST_CASE("what cannot be fitted is trouble in words") {
  const auto trouble_of = [](const FitRequest& request) {
    const auto answer = fit_card(request, shipped());
    return std::holds_alternative<Trouble>(answer) ? std::get<Trouble>(answer).what : std::string("none");
  };
  FitRequest few = request_for("XY99");
  few.points.resize(2);
  CHECK(trouble_of(few).starts_with("too few points: koren_1996 has "));
  FitRequest no_sign = request_for("XY99");
  for (PlacedPoint& p : no_sign.points) p.point.grid_v = 1 - p.point.grid_v;
  CHECK(trouble_of(no_sign).find("every grid voltage is above 0") != std::string::npos);
  FitRequest surface = request_for("XY99");
  surface.form = MeasuredSurface{};
  surface.points.resize(12);
  CHECK(trouble_of(surface).starts_with("measured_surface follows curve readings: it needs at least 20"));
  CHECK(std::holds_alternative<Trouble>(law_of_form("koren")));
  CHECK(form_of(std::get<TriodeLaw>(law_of_form("measured_surface"))) == "measured_surface");
}
