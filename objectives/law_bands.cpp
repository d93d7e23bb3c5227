#include "objectives/law_bands.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <string_view>

#include "objectives/judgement.h"
#include "stagemodels/circuits/places.h"
#include "stagemodels/tubes/type_scatter.h"

namespace antiphase {

namespace {

/// Normal deviates stretched so that nine tenths lie within the same bounds as with the sources.
double stretched(double sd, double deviate) {
  constexpr double kNormalNineTenths = 1.645;
  return sd * deviate * kTypeScatter.nine_tenths / kNormalNineTenths;
}

/// What of a figure a law leaves beyond current and mu of the type, sd of the logarithm. Balance is a
/// difference of what goes together: nothing is added to it.
double left_of(std::string_view figure) {
  if (figure == "distortion_pct" || figure == "thd_differential_pct")
    return std::hypot(kTypeScatter.bend, kTypeScatter.said_distortion);
  if (figure == "gain" || figure == "input_peak_v" || figure == "sensitivity_v_rms")
    return kTypeScatter.said_gain;
  if (figure == "plate_current_a") return kTypeScatter.said_stage_current;
  if (figure == "output_impedance_ohm") return kTypeScatter.said_slope;
  if (figure == "clean_swing_peak_v" || figure == "headroom_db") return kTypeScatter.said_swing;
  return 0;
}

/// A figure with what a law leaves of it; headroom counts decibels of the swing.
double with_rest(const Figure& figure, double value, double deviate) {
  const double e_folds = stretched(left_of(figure.name), deviate);
  if (figure.name == "headroom_db") return value + 20 * e_folds / std::numbers::ln10;
  return value * std::exp(e_folds);
}

SectionSpread times(const SectionSpread& a, const SectionSpread& b) {
  return {a.current * b.current, a.mu * b.mu};
}

/// The tubes of a design, each type once.
std::vector<const Tube*> types_of(const Design& design) {
  std::vector<const Tube*> types;
  for (const Element& e : circuit_of(design)) {
    if (e.kind != ElementKind::triode) continue;
    const Tube* tube = tube_numbered(design, e.section);
    if (std::find(types.begin(), types.end(), tube) == types.end()) types.push_back(tube);
  }
  return types;
}

/// A specimen of the type as draw n has it. A card without a published point gives no place to compare mu at.
SectionSpread drawn(const Tube& tube, const TriodeLaw& law, const TypeDraw& draw) {
  const double current = std::exp(stretched(kTypeScatter.current, draw.current));
  const PublishedPoint* typical = typical_point(tube.published_points);
  if (!typical) return {current, 1};
  return specimen_of(law, *typical, current, std::exp(stretched(kTypeScatter.mu, draw.mu)));
}

/// The design with all sections of one type changed alike.
void change_type(Design& design, const Tube* type, const TypeDraw& draw) {
  const SectionSpread by = drawn(*type, type->law(design.law), draw);
  for (std::size_t n = 0; n < design.tube.size(); ++n) {
    if (design.tube[n] == type) design.spread[n] = times(design.spread[n], by);
    if (design.driver.tube == type) design.driver.spread[n] = times(design.driver.spread[n], by);
  }
  if (design.first_stage.tube == type) design.first_stage.spread = times(design.first_stage.spread, by);
}

void begin_bands(const Design& design, const Evaluation& e, LawBands& out) {
  for (const Figure& figure : figures())
    if (figure.needs <= Depth::full)
      if (const std::optional<double> v = figure.measure(design, e); v && std::isfinite(*v))
        out.figures.push_back({&figure, *v, *v, *v, false});
}

void widen(const Design& drawn, const Evaluation& e, double deviate, LawBands& out) {
  for (FigureBand& band : out.figures) {
    const std::optional<double> v = band.figure->measure(drawn, e);
    if (!v || !std::isfinite(*v)) {
      band.missing = true;
      continue;
    }
    const double said = with_rest(*band.figure, *v, deviate);
    band.low = std::min(band.low, said);
    band.high = std::max(band.high, said);
  }
}

}  // namespace

LawBands law_bands(const Design& design, const Demands& demands) {
  LawBands out;
  const std::vector<const Tube*> types = types_of(design);
  for (const Tube* type : types) out.laws = std::max(out.laws, type->credible_laws());
  Judgement judged;
  for (int n = 0; n < out.laws; ++n) {
    Design under = design;
    under.law = n;
    judge_as_drawn(demands, under, Depth::full, judged);
    out.score.push_back(judged.score);
    out.feasible.push_back(judged.feasible);
    if (n == 0) begin_bands(under, judged.evaluation, out);
  }
  if (types.empty()) return out;
  std::vector<std::array<TypeDraw, kTypeDraws>> draws;
  for (std::size_t n = 0; n < types.size(); ++n) draws.push_back(type_draws(static_cast<int>(n)));
  out.draws = kTypeDraws;
  for (int k = 0; k < kTypeDraws; ++k) {
    Design under = design;
    under.law = k % out.laws;
    const auto place = static_cast<std::size_t>(k);
    for (std::size_t n = 0; n < types.size(); ++n) change_type(under, types[n], draws[n][place]);
    judge_as_drawn(demands, under, Depth::full, judged);
    widen(under, judged.evaluation, draws.front()[place].bend, out);
  }
  return out;
}

const FigureBand* band_of(const LawBands& bands, const Figure& figure) {
  const auto found = std::find_if(bands.figures.begin(), bands.figures.end(),
                                  [&](const FigureBand& band) { return band.figure == &figure; });
  return found == bands.figures.end() ? nullptr : &*found;
}

bool rank_in_doubt(const Design& better, const LawBands& better_bands, const Design& next,
                   const LawBands& next_bands) {
  const auto cost = [](const LawBands& b, std::size_t n) {
    // a law under which a limit breaks ranks behind every law that keeps them
    return b.feasible[n] && b.score[n] ? *b.score[n] : INFINITY;
  };
  if (better.tube == next.tube && better_bands.laws == next_bands.laws) {
    for (std::size_t n = 0; n < better_bands.score.size(); ++n)
      if (cost(next_bands, n) < cost(better_bands, n)) return true;
    return false;
  }
  double worst = -INFINITY, best = INFINITY;
  for (std::size_t n = 0; n < better_bands.score.size(); ++n) worst = std::max(worst, cost(better_bands, n));
  for (std::size_t n = 0; n < next_bands.score.size(); ++n) best = std::min(best, cost(next_bands, n));
  return best < worst;
}

}  // namespace antiphase
