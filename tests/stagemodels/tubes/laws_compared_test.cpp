// How near each form comes to the traced sheets, and what it says of a curve that it was not shown.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "configs/curve_points.h"
#include "configs/tube_library.h"
#include "stagemodels/hand_estimate.h"
#include "stagemodels/tubes/surface_fit.h"

using namespace antiphase;

namespace {

struct Sheet {
  const char *file, *tube;
};
constexpr Sheet kSheets[] = {{"12AT7_GE_1957", "12AT7"},        {"12AX7A_RCA_1960", "12AX7A"},
                             {"12AX7_TungSol_1947", "12AX7"},   {"6SL7GT_public_figure", "6SL7GT"},
                             {"6SN7GT_TungSol_1945", "6SN7GT"}, {"E88CC_Philips_1968", "E88CC"},
                             {"ECC82_Philips_1954", "12AU7"},   {"ECC85_Philips_1969", "ECC85"}};

const Tube& card(const char* name) {
  static const auto read = read_tube_library(ANTIPHASE_SOURCE "/configs/tubes");
  REQUIRE(std::holds_alternative<TubeLibrary>(read));
  return *std::get<TubeLibrary>(read).find(name);
}

std::vector<CurvePoint> readings(const Sheet& sheet) {
  const auto read = read_curve_points(std::string(ANTIPHASE_SOURCE "/configs/curves/") + sheet.file + ".csv");
  REQUIRE(std::holds_alternative<CurveFile>(read));
  return std::get<CurveFile>(read).points;
}

/// Errors of plate currents above a tenth of the typical one, where stages work.
struct Errors {
  double squares = 0;
  int count = 0;
  void add(const TriodeLaw& law, const CurvePoint& p, double typical_a) {
    if (p.plate_current_a < 0.1 * typical_a) return;
    const double error = currents_at(law, p.grid_v, p.plate_v).plate_a / p.plate_current_a - 1;
    squares += error * error, ++count;
  }
  double rms_pct() const { return 100 * std::sqrt(squares / std::max(1, count)); }
};

TriodeLaw fitted(const TriodeLaw& start, const std::vector<FitObservation>& observations, int starts) {
  FitOptions options;
  options.starts = starts;
  const FitOutcome fit = fit_law(start, observations, options);
  REQUIRE(fit.stop == FitStop::fitted);
  return fit.law;
}

struct SheetRow {
  double fit_pct = 0, left_out_pct = 0;
  int lines = 0, lines_within_5 = 0;
};

/// The first and last line of a sheet are extrapolation: they are not left out.
SheetRow row_of(const Sheet& sheet, const TriodeLaw& form) {
  const Tube& tube = card(sheet.tube);
  const std::vector<CurvePoint> all = readings(sheet);
  const double typical_a = typical_current_a(tube.published_points, all);
  const bool surface = std::holds_alternative<MeasuredSurface>(form);
  const auto fit = [&](const std::vector<CurvePoint>& points, const TriodeLaw& start, int starts) {
    const auto observations = observations_of(points, typical_a);
    const TriodeLaw law = fitted(start, observations, starts);
    if (!surface) return std::pair(law, law);
    const SurfaceFit s = fit_surface(std::get<Koren1996>(law), observations);
    return std::pair(law, s.fitted ? TriodeLaw(s.law) : law);
  };
  const auto [base, whole] = fit(all, surface ? TriodeLaw(Koren1996{}) : form, 24);
  SheetRow row;
  Errors of_fit, left_out;
  for (const CurvePoint& p : all) of_fit.add(whole, p, typical_a);
  row.fit_pct = of_fit.rms_pct();
  std::set<double> grids;
  for (const CurvePoint& p : all) grids.insert(p.grid_v);
  for (auto grid = std::next(grids.begin()); grid != std::prev(grids.end()); ++grid) {
    std::vector<CurvePoint> rest, line;
    for (const CurvePoint& p : all) (p.grid_v == *grid ? line : rest).push_back(p);
    const TriodeLaw law = fit(rest, base, 0).second;
    Errors of_line;
    for (const CurvePoint& p : line) of_line.add(law, p, typical_a), left_out.add(law, p, typical_a);
    if (of_line.count == 0) continue;
    ++row.lines;
    row.lines_within_5 += of_line.rms_pct() <= 5;
  }
  row.left_out_pct = left_out.rms_pct();
  return row;
}

std::vector<SheetRow> rows_of(const TriodeLaw& form) {
  std::vector<SheetRow> rows;
  for (const Sheet& sheet : kSheets) {
    rows.push_back(row_of(sheet, form));
    const SheetRow& r = rows.back();
    std::printf("  %-22s %-22s %5.2f  %5.2f  %2d of %2d\n",
                std::visit([](const auto& l) { return l.kForm; }, form), sheet.file, r.fit_pct,
                r.left_out_pct, r.lines_within_5, r.lines);
  }
  return rows;
}

int count_within(const std::vector<SheetRow>& rows, double SheetRow::*figure, double pct) {
  return static_cast<int>(
      std::count_if(rows.begin(), rows.end(), [&](const SheetRow& r) { return r.*figure <= pct; }));
}

}  // namespace

TEST_CASE("what each form leaves of the traced sheets, and of a line that it was not shown") {
  // Fitted to the sheet's readings alone: published points are other sources, which need not agree with it.
  std::printf(
      "\nplate current above a tenth of the typical one, rms error in %%: form, sheet, fitted to the whole "
      "sheet, a line "
      "left out, how many such lines are met to 5 %%\n");
  rows_of(ChildLangmuir{});
  rows_of(DempwolfZoelzer2011{});
  const std::vector<SheetRow> koren = rows_of(Koren1996{}), surface = rows_of(MeasuredSurface{}),
                              island = rows_of(IslandTriode{});
  const int near = count_within(island, &SheetRow::fit_pct, 2.5),
            left = count_within(island, &SheetRow::left_out_pct, 5);
  std::printf(
      "island_triode leaves at most 2.5 %% on %d of %zu sheets, 4 %% on %d; says a left-out line to 5 %% on "
      "%d\n",
      near, island.size(), count_within(island, &SheetRow::fit_pct, 4), left);
  // 2.5 % is what curves of this kind are read to at a tenth of the typical current (0.5 to 2 V, 0.006 to
  // 0.05 mA at the slopes there give 0.8 to 3 %), 5 % what designers allow a law. Lines of the 12AT7 and
  // E88CC sheets stand up to a quarter of the lines' distance from where any even sequence has them, which no
  // law with a few parameters follows.
  CHECK(near >= 3);
  CHECK(count_within(island, &SheetRow::fit_pct, 4) == 8);
  CHECK(left >= 6);
  // More parameters must tell a line better that was not shown, or they follow the sheet's accidents.
  const auto sum = [](const std::vector<SheetRow>& rows) {
    double all = 0;
    for (const SheetRow& r : rows) all += r.left_out_pct;
    return all;
  };
  CHECK(sum(island) < 0.65 * sum(koren));
  CHECK(sum(island) < 0.85 * sum(surface));
}

TEST_CASE(
    "five ordinates on the line of a 12AT7 at 2 mA: the law comes nearer to the hand picture than Koren's "
    "form") {
  // 50 k from 205 V, 22 V peak. Common practice says 1.5 % by hand, and the sheet's readings give 1.4 %
  // (hand_estimate_test.cpp). Both laws, fitted to the sheet, have more, since its line at -1 V stands where
  // no even sequence of lines has it; neither meets the figure.
  const std::vector<CurvePoint> sheet = readings(kSheets[0]);
  const auto observations = observations_of(sheet, typical_current_a(card("12AT7").published_points, sheet));
  const auto distortion_pct = [&](const TriodeLaw& form) {
    const HandEstimate hand = hand_estimate(fitted(form, observations, 24), {205, 50e3, 2e-3}, 22);
    REQUIRE(hand.valid);
    return hand.thd_pct;
  };
  const double koren = distortion_pct(Koren1996{}), island = distortion_pct(IslandTriode{});
  std::printf(
      "12AT7 on 50 k from 205 V at 2 mA, 22 V peak, five ordinates: koren_1996 %.2f %%, island_triode %.2f "
      "%%, common "
      "practice 1.5 %%\n",
      koren, island);
  CHECK(std::abs(island - 1.5) < 0.75 * std::abs(koren - 1.5));
}
