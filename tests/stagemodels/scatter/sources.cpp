#include "tests/stagemodels/scatter/sources.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <optional>

#include "configs/curve_points.h"
#include "stagemodels/evaluate.h"
#include "stagemodels/tubes/fit_data.h"
#include "stagemodels/tubes/type_scatter.h"
#include "tests/stagemodels/published/coupled_tables.h"
#include "tests/support/shipped.h"
#include "tests/support/stages.h"

namespace antiphase::testing {
namespace {

constexpr double kStep = 0.02;  // of a factor's logarithm, for differences

/// A prediction under a specimen of the type; empty: there is none.
using Predicted = std::function<std::optional<double>(const SectionSpread&)>;

const Tube& card(const std::string& name) {
  const Tube* tube = shipped().find(name);
  REQUIRE(tube);
  return *tube;
}

Tube with_law(Tube tube, const TriodeLaw& law) {
  tube.models = {{law, "made without the source", true}};
  return tube;
}

/// Adds a printed number, unless the law has no such figure.
void say(Source& source, Said what, double printed, const Tube& tube, const Predicted& predicted) {
  const PublishedPoint* typical = typical_point(tube.published_points);
  REQUIRE(typical);
  const auto log_of = [&](double current, double mu) -> std::optional<double> {
    const auto v = predicted(specimen_of(tube.law(), *typical, current, mu));
    if (!v || !(*v > 0)) return std::nullopt;
    return std::log(*v);
  };
  const double up = std::exp(kStep);
  const auto at = log_of(1, 1), more = log_of(up, 1), steeper = log_of(1, up);
  if (!at || !more || !steeper) return;
  source.statements.push_back(
      {what, std::log(printed) - *at, (*more - *at) / kStep, (*steeper - *at) / kStep, false, false});
}

// Sections alone.

std::optional<double> of_section(const Tube& tube, const SectionSpread& spread, const FitObservation& o) {
  const TriodeSection section{&tube, &tube.law(), spread};
  double grid_v = o.grid_v.value_or(0);
  if (!o.grid_v) {  // where it draws at_current_a
    double low = -60, high = 2;
    for (int step = 0; step < 60; ++step) {
      grid_v = 0.5 * (low + high);
      (section.currents_at(grid_v, o.plate_v).plate_a < o.at_current_a ? low : high) = grid_v;
    }
  }
  const TriodeCurrents c = section.currents_at(grid_v, o.plate_v);
  switch (o.what) {
    case Characteristic::plate_current:
      return c.plate_a;
    case Characteristic::gm:
      return c.plate_per_grid_s;
    case Characteristic::mu:
      return c.plate_per_grid_s / c.plate_per_plate_s;
    case Characteristic::rp:
      return 1 / c.plate_per_plate_s;
  }
  return std::nullopt;
}

Said said(Characteristic what) {
  switch (what) {
    case Characteristic::gm:
      return Said::gm;
    case Characteristic::mu:
      return Said::mu;
    case Characteristic::rp:
      return Said::rp;
    default:
      return Said::current;
  }
}

void say(Source& source, const Tube& tube, const FitObservation& o) {
  say(source, said(o.what), o.value, tube,
      [&](const SectionSpread& spread) { return of_section(tube, spread, o); });
}

std::vector<CurvePoint> readings(const std::string& file) {
  const auto read = read_curve_points(ANTIPHASE_SOURCE "/configs/curves/" + file + ".csv");
  REQUIRE(std::holds_alternative<CurveFile>(read));
  return std::get<CurveFile>(read).points;
}

TriodeLaw form_of_cards() {
  return Koren1996{};
}

/// The form that cards begin with, fitted to what is left; with few points towards the card of another type.
TriodeLaw fitted(const std::vector<PublishedPoint>& points, const std::vector<CurvePoint>& curve,
                 const TriodeLaw& start, bool towards) {
  FitOptions options;
  options.towards_given = towards;
  const FitOutcome fit = fit_law(start, observations_of(points, curve), options);
  REQUIRE(fit.stop == FitStop::fitted);
  return fit.law;
}

/// Printed characteristics of which the law knows only the curves.
Source points_by_curves(const std::string& type, const std::string& name,
                        const std::vector<std::string>& files, const std::vector<PublishedPoint>& points) {
  std::vector<CurvePoint> curve;
  for (const std::string& file : files) {
    const auto more = readings(file);
    curve.insert(curve.end(), more.begin(), more.end());
  }
  Tube tube = with_law(card(type), fitted({}, curve, form_of_cards(), false));
  Source source{type, name, {}};
  for (const FitObservation& o : observations_of(std::span(points), 0)) say(source, tube, o);
  return source;
}

/// Characteristics of another maker than the card's.
Source other_maker(const std::string& type, const std::string& name,
                   const std::vector<FitObservation>& printed) {
  Source source{type, name, {}};
  for (const FitObservation& o : printed) say(source, card(type), o);
  return source;
}

/// A traced sheet of which the law knows only points, and another sheet if there is one; a dozen readings.
Source curves_by_points(const std::string& type, const std::string& file, const std::string& other_file,
                        const std::string& towards) {
  const Tube& own = card(type);
  const TriodeLaw law = other_file.empty()
                            ? fitted(own.published_points, {}, card(towards).law(), true)
                            : fitted(own.published_points, readings(other_file), form_of_cards(), false);
  const Tube tube = with_law(own, law);
  Source source{type, "curves " + file, {}};
  const auto all = readings(file);
  const double typical_a = typical_current_a(own.published_points, all);
  std::vector<CurvePoint> worth;
  for (const CurvePoint& p : all)
    if (p.plate_current_a >= 0.1 * typical_a && p.plate_current_a <= 1.5 * typical_a) worth.push_back(p);
  constexpr std::size_t kReadings = 12;
  for (std::size_t n = 0; n < kReadings; ++n) {
    const CurvePoint& p = worth[(2 * n + 1) * worth.size() / (2 * kReadings)];
    say(source, tube, {Characteristic::plate_current, p.plate_v, p.grid_v, 0, p.plate_current_a, 1});
  }
  return source;
}

/// What a measured tube draws, as its published law says, against the card.
Source measured_tube(const std::string& type, const std::string& name, const TriodeLaw& measured) {
  const Tube& tube = card(type);
  Source source{type, name, {}};
  const Tube specimen = with_law(tube, measured);
  for (const PublishedPoint& p : tube.published_points)
    for (const Characteristic what :
         {Characteristic::plate_current, Characteristic::gm, Characteristic::mu, Characteristic::rp}) {
      FitObservation o{what, p.plate_v, grid_voltage_of(p), 0, 1, 1};
      if (!o.grid_v) continue;
      o.value = *of_section(specimen, {}, o);
      say(source, tube, o);
    }
  return source;
}

// Stages.

Evaluation solved(const Tube& tube, const TableRow& row, const SectionSpread& spread, Depth depth) {
  Design d;
  d.circuit = CircuitKind::common_cathode;
  d.tube = {&tube, &tube};
  d.spread = {spread, spread};
  d.supply_v = row.supply_v;
  d.plate_ohm[0] = row.plate_ohm;
  d.load_ohm = row.next_ohm;
  d.cathode_ohm = row.cathode_ohm;
  d.swing_peak_v = std::max(1.0, row.output_rms_v) * std::sqrt(2.0);
  d.clean_limit_pct = 100;  // the sheets end where the grid begins to draw
  Evaluation e;
  evaluate(d, depth, e);
  return e;
}

/// swing: the table's outputs are those at which the grid begins to conduct.
Source table(const std::string& type, const std::string& name, const std::vector<TableRow>& rows,
             bool swing) {
  const Tube& tube = card(type);
  std::vector<Tube> laws;
  for (std::size_t m = 0; m < tube.models.size(); ++m)
    if (m == 0 || tube.models[m].credible) laws.push_back(with_law(tube, tube.models[m].law));
  Source source{type, name, {}};
  for (const TableRow& row : rows) {
    const auto add = [&](Said what, double printed, auto figure, Depth depth) {
      if (!(printed > 0)) return;
      const auto predict = [&](const Tube& with, const SectionSpread& spread) -> std::optional<double> {
        const Evaluation e = solved(with, row, spread, depth);
        if (e.operating_point.solved != Solved::yes) return std::nullopt;
        return figure(e);
      };
      const std::size_t before = source.statements.size();
      say(source, what, printed, tube, [&](const SectionSpread& s) { return predict(tube, s); });
      if (source.statements.size() == before) return;
      double low = INFINITY, high = -INFINITY;
      for (const Tube& with : laws)
        if (const auto v = predict(with, {})) low = std::min(low, *v), high = std::max(high, *v);
      source.statements.back().asked_laws = true;
      source.statements.back().within_laws = printed >= low && printed <= high;
    };
    add(
        Said::stage_current, row.current_ma,
        [](const Evaluation& e) { return std::optional(1e3 * e.operating_point.plate_current_a[0]); },
        Depth::at_target);
    add(
        Said::gain, row.gain,
        [](const Evaluation& e) { return std::optional(std::abs(e.small_signal.gain[0])); },
        Depth::at_target);
    add(
        Said::distortion, row.distortion_pct,
        [](const Evaluation& e) {
          return e.at_target.solved == Solved::yes ? std::optional(e.at_target.thd_pct[0]) : std::nullopt;
        },
        Depth::at_target);
    if (swing)
      add(
          Said::swing, row.output_rms_v,
          [](const Evaluation& e) {
            return e.clean.solved == Solved::yes ? std::optional(e.clean.swing_peak_v / std::sqrt(2.0))
                                                 : std::nullopt;
          },
          Depth::full);
  }
  return source;
}

/// A published splitter: all sections are specimens of one kind, as of one bottle.
void say_of_splitter(Source& source, const Tube& tube, const Design& as_drawn, double first_a,
                     double splitter_a, double gain, double distortion_pct) {
  const auto add = [&](Said what, double printed, auto figure) {
    if (!(printed > 0)) return;
    say(source, what, printed, tube, [&](const SectionSpread& spread) -> std::optional<double> {
      Design d = as_drawn;
      d.spread = {spread, spread};
      d.first_stage.spread = spread;
      Evaluation e;
      evaluate(d, Depth::at_target, e);
      if (e.at_target.solved != Solved::yes) return std::nullopt;
      return figure(e);
    });
  };
  add(Said::stage_current, first_a,
      [](const Evaluation& e) { return e.operating_point.first.plate_current_a; });
  add(Said::stage_current, splitter_a,
      [](const Evaluation& e) { return e.operating_point.plate_current_a[0]; });
  add(Said::gain, gain, [](const Evaluation& e) { return std::abs(e.small_signal.gain[1]); });
  add(Said::distortion, distortion_pct,
      [](const Evaluation& e) { return std::max(e.at_target.thd_pct[0], e.at_target.thd_pct[1]); });
}

/// As in tests/stagemodels/published/phase_inverter_test.cpp, from memory.
Source ecc83_pair() {
  const Tube& tube = card("12AX7");
  Design d = pair_of(tube, BiasForm::direct_coupled);
  d.supply_v = 250;
  d.plate_ohm = {100e3, 100e3};
  d.tail.ohm = 68e3;
  d.bias.grid_v = 65;
  d.load_ohm = 1e6;
  d.swing_peak_v = 20 * std::sqrt(2.0);
  Source source{"12AX7", "Philips ECC83 cathode-coupled pair, from memory", {}};
  say_of_splitter(source, tube, d, 0, 0.5e-3, 25, 1.8);
  return source;
}

/// Philips ECC82 data sheet, 1959: gain stage and split load coupled by a capacitor ("A"), at each output.
Source ecc82_split_load() {
  const Tube& tube = card("12AU7");
  Source source{"12AU7", "Philips ECC82 phase inverter A, 1959", {}};
  struct Row {
    double supply_v, first_a, splitter_a, out_v_rms;
  };
  for (const Row& row : {Row{250, 0.82e-3, 4.5e-3, 13}, Row{350, 1.16e-3, 6.3e-3, 20}}) {
    Design d;
    d.circuit = CircuitKind::gain_and_split_load;
    d.tube[0] = d.first_stage.tube = &tube;
    d.supply_v = row.supply_v;
    d.bias.form = BiasForm::self_biased;
    d.bias.ohm = 1e3;
    d.plate_ohm = {15e3, 14e3};
    d.first_stage.plate_ohm = 220e3;
    d.first_stage.cathode_ohm = 3.9e3;
    d.grid_leak_ohm = d.load_ohm = 680e3;
    d.swing_peak_v = row.out_v_rms * std::sqrt(2.0);
    say_of_splitter(source, tube, d, row.first_a, row.splitter_a, 11, 1.5);
  }
  return source;
}

std::vector<PublishedPoint> points_from(const std::string& type, const std::string& sheet) {
  std::vector<PublishedPoint> points;
  for (const PublishedPoint& p : card(type).published_points)
    if (p.source.find(sheet) != std::string::npos) points.push_back(p);
  REQUIRE_FALSE(points.empty());
  return points;
}

}  // namespace

const char* name_of(Said what) {
  constexpr const char* kNames[kSaidKinds]{"current", "gm",         "mu",   "rp", "current of a stage",
                                           "gain",    "distortion", "swing"};
  return kNames[static_cast<int>(what)];
}

std::vector<Source> all_sources() {
  const DempwolfZoelzer2011 rsd1{2.242e-3, 103.2, 1.26, 3.40, 6.177e-4, 1.314, 9.901, 8.025e-8},
      rsd2{2.173e-3, 100.2, 1.28, 3.19, 5.911e-4, 1.358, 11.76, 4.527e-8},
      ehx1{1.371e-3, 86.9, 1.349, 4.56, 3.263e-4, 1.156, 11.99, 3.917e-8};
  const std::string dafx = ", measured: Dempwolf and Zoelzer, DAFx-11, 2011";
  std::vector<TableRow> brimar =
      joined({brimar_12ax7(), brimar_12ax7_contradicted(), brimar_12ax7_example()});
  return {
      table("12AX7", "Philips ECC83 table, Jan 1970", philips_ecc83_1970(), true),
      table("12AX7", "General Electric table, Jun 1953", general_electric_12ax7_1953(), false),
      table("12AX7", "Brimar report", brimar, false),
      table("12AU7", "Philips ECC82 table, 1959", philips_ecc82_1959(), true),
      table("6922", "RT-6922 table, 2012", rt_6922_2012(), false),
      ecc83_pair(),
      ecc82_split_load(),
      table("6SN7GT", "Tung-Sol table, 1945", tung_sol_6sn7gt_1945({13, 14, 14}), false),
      measured_tube("12AX7", "RSD-1" + dafx, rsd1),
      measured_tube("12AX7", "RSD-2" + dafx, rsd2),
      measured_tube("12AX7", "EHX-1" + dafx, ehx1),
      points_by_curves("12AX7", "RCA characteristics, Oct 1960, by Tung-Sol's curves", {"12AX7_TungSol_1947"},
                       card("12AX7").published_points),
      points_by_curves("12AU7", "Philips and Tung-Sol characteristics, 1959 and 1962", {"ECC82_Philips_1954"},
                       card("12AU7").published_points),
      points_by_curves("12AT7", "General Electric characteristics, Feb 1957", {"12AT7_GE_1957"},
                       points_from("12AT7", "General Electric")),
      points_by_curves("12AT7", "published measurements", {"12AT7_GE_1957"},
                       points_from("12AT7", "measurements")),
      points_by_curves("6SN7GT", "Tung-Sol characteristics, 1945", {"6SN7GT_TungSol_1945"},
                       card("6SN7GT").published_points),
      points_by_curves("E88CC", "Philips characteristics, Dec 1968", {"E88CC_Philips_1968"},
                       card("E88CC").published_points),
      points_by_curves("ECC85", "Philips characteristics, 1968 to 1969", {"ECC85_Philips_1969"},
                       card("ECC85").published_points),
      points_by_curves("6SL7GT", "RCA characteristics, from memory", {"6SL7GT_public_figure"},
                       card("6SL7GT").published_points),
      other_maker("12AU7", "Tung-Sol characteristics, Oct 1962",
                  {{Characteristic::mu, 100, 0, 0, 20, 1}, {Characteristic::rp, 100, 0, 0, 6500, 1}}),
      other_maker("12BH7A", "Tung-Sol characteristics, at second hand",
                  {{Characteristic::mu, 250, -10.5, 0, 17, 1}, {Characteristic::rp, 250, -10.5, 0, 5500, 1}}),
      other_maker("12AY7", "RCA tube manual, 1959, at second hand",
                  {{Characteristic::mu, 250, -4, 0, 44, 1}}),
      curves_by_points("12AX7", "12AX7_TungSol_1947", "12AX7A_RCA_1960", ""),
      curves_by_points("12AX7", "12AX7A_RCA_1960", "12AX7_TungSol_1947", ""),
      curves_by_points("12AU7", "ECC82_Philips_1954", "", "6SN7GT"),
      curves_by_points("6SN7GT", "6SN7GT_TungSol_1945", "", "12AU7"),
      curves_by_points("12AT7", "12AT7_GE_1957", "", "ECC85"),
      curves_by_points("ECC85", "ECC85_Philips_1969", "", "12AT7"),
      curves_by_points("6SL7GT", "6SL7GT_public_figure", "", "12AX7"),
      curves_by_points("E88CC", "E88CC_Philips_1968", "", "12AT7"),
  };
}

}  // namespace antiphase::testing
