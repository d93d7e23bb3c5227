#include "objectives/builds/build_model.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>

#include "optimize/engine/sampling/statistics.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/circuits/rest_point.h"
#include "stagemodels/evaluate.h"
#include "stagemodels/members.h"

namespace antiphase {
namespace {

constexpr double kLeastFactor = 0.2, kMostFactor = 3;  // of a section against its type

/// Below the cut of Scatter::truncated_normal; a constant of the standard normal.
double below_cut() {
  static const double share = engine::normal_share(-kNormalCut);
  return share;
}

bool is_load(const DesignField& field) {
  return &field == &member::load_ohm;  // a condition of the stage, but a resistor of the amplifier
}

constexpr int kSections = Circuit::kMostSections;

/// Two resistors in series: what the whole was multiplied by belongs to the bypassed one.
void put_together(double whole, double bare, double& whole_drawn, double bare_drawn) {
  if (bare <= 0) return;
  whole_drawn = bare < whole ? (whole - bare) * whole_drawn / whole + bare_drawn : bare_drawn;
}

/// Parts that few designs have. They come after all others, whose draws do not hang on them; last of all a
/// divider, which no design with a driver has.
constexpr std::array kCountedLast{&member::first_stage_decoupling_ohm,
                                  &member::first_stage_decoupling_f,
                                  &member::feedback_lead_f,
                                  &member::driver_plate_ohm,
                                  &member::driver_cathode_ohm,
                                  &member::driver_bias_v,
                                  &member::driver_grid_leak_ohm,
                                  &member::driver_coupling_f,
                                  &member::divider_ohm,
                                  &member::balancing_ohm,
                                  &member::divider_foot_ohm};

/// Of first stages that are more than a triode: behind all that others have.
constexpr std::array kOfOtherGainStages{
    &member::first_stage_load_current_a,          &member::first_stage_second_plate_ohm,
    &member::first_stage_second_cathode_ohm,      &member::first_stage_second_cathode_unbypassed_ohm,
    &member::first_stage_second_cathode_bypass_f, &member::first_stage_second_grid_leak_ohm,
    &member::first_stage_second_grid_feed_ohm,    &member::first_stage_second_grid_foot_ohm,
    &member::first_stage_second_grid_bypass_f,    &member::first_stage_second_coupling_f};

/// What has most to say stands first: the first dimensions are the most even.
int dimension_of(const Varied& v) {
  // Few designs have drivers, in the place of a divider among others; fewer have what is left behind them.
  constexpr int kTubes = 3, kParts = 11, kDrivers = 44, kOtherGain = kDrivers + 4,
                kSecond = kOtherGain + static_cast<int>(kOfOtherGainStages.size());
  static_assert(kSecond + 2 <= engine::SobolPoints::kMostDimensions);
  switch (v.kind) {
    case BuildProperty::mains:
      return 0;
    case BuildProperty::emission:
      return 1;
    case BuildProperty::heater:
      return 2;
    case BuildProperty::plate_current:
    case BuildProperty::mu:
      if (v.section == kGainSecond) return kSecond + (v.kind == BuildProperty::mu ? 1 : 0);
      if (v.section < kDriver) return kTubes + 2 * (v.section + 1) + (v.kind == BuildProperty::mu ? 1 : 0);
      return kDrivers + 2 * (v.section - kDriver) + (v.kind == BuildProperty::mu ? 1 : 0);
    case BuildProperty::part:
    case BuildProperty::setting:
      break;
  }
  const auto last = [](const DesignField* field) {
    return std::find(kCountedLast.begin(), kCountedLast.end(), field) != kCountedLast.end();
  };
  const auto other = std::find(kOfOtherGainStages.begin(), kOfOtherGainStages.end(), v.field);
  if (other != kOfOtherGainStages.end())
    return kOtherGain + static_cast<int>(other - kOfOtherGainStages.begin());
  int place = kParts;
  for (const DesignField& field : design_fields()) {
    if (last(&field) ||
        std::find(kOfOtherGainStages.begin(), kOfOtherGainStages.end(), &field) != kOfOtherGainStages.end())
      continue;
    if (&field == v.field) return place;
    if (field.role == FieldRole::resistor || field.role == FieldRole::capacitor ||
        field.role == FieldRole::setting || is_load(field))
      ++place;
  }
  const auto at = std::find(kCountedLast.begin(), kCountedLast.end(), v.field);
  return place + static_cast<int>(at - kCountedLast.begin());
}

/// A cathode resistor all of which goes without a capacitor is one part, not two.
bool is_part(const DesignField& field, const Design& d) {
  const Circuit& c = circuit_of(d);
  return std::any_of(c.begin(), c.end(), [&](const Element& e) { return e.member == &field && e.stands(d); });
}

}  // namespace

double tolerance_of(const DesignField& field, const Tolerances& t) {
  for (const Tolerances::One& one : t.single)
    if (one.part == &field) return one.pct / 100;
  if (field.role == FieldRole::capacitor) return t.capacitor_pct / 100;
  if (field.role == FieldRole::setting) return t.setting_pct / 100;
  return t.resistor_pct / 100;
}

BuildModel::BuildModel(const Design& design, const Tolerances& tolerances)
    : nominal_(design), emission_left_(tolerances.emission_left) {
  const Circuit& c = circuit_of(design);
  for (const Element& e : c) {
    if ((e.kind == ElementKind::held || e.kind == ElementKind::driven) && e.member) held_.push_back(e.member);
    for (const Element& bare : c)
      if (e.role == Role::cathode && bare.role == Role::cathode_unbypassed &&
          (e.a == bare.b || e.b == bare.a))
        two_parts_.push_back({e.member, bare.member});
  }
  vary_parts(tolerances);
  vary_tubes(tolerances);
  for (Varied& v : varied_) {
    v.dimension = dimension_of(v);
    assert(v.dimension < engine::SobolPoints::kMostDimensions);
  }

  Evaluation e;
  evaluate(design, Depth::rest, e);
  if (e.operating_point.solved != Solved::yes) return;
  for (int i = 0; i < kSections; ++i) {
    if (!has_section(design, i)) continue;
    const OperatingPoint& o = e.operating_point;
    const bool own = i >= kSplitterSections;
    grid_to_cathode_v_[i] = own ? own_rest(o, i).grid_to_cathode_v : o.grid_to_cathode_v[i];
    plate_to_cathode_v_[i] = own ? own_rest(o, i).plate_to_cathode_v : o.plate_to_cathode_v[i];
    screen_to_cathode_v_[i] = own ? own_rest(o, i).screen_to_cathode_v : 0;
    TriodeSection type = section_numbered(design, i);
    type.spread.current = 1;
    rest_a_[i] =
        type.currents_at(grid_to_cathode_v_[i], plate_to_cathode_v_[i], screen_to_cathode_v_[i]).plate_a;
  }
}

void BuildModel::vary_parts(const Tolerances& t) {
  if (t.mains_pct > 0)
    varied_.push_back({BuildProperty::mains, "mains", "mains voltage", t.mains_pct / 100, t.mains});
  for (const DesignField& field : design_fields()) {
    const bool part =
                   field.role == FieldRole::resistor || field.role == FieldRole::capacitor || is_load(field),
               setting = field.role == FieldRole::setting;
    if (!(part || setting) || !field.applies(nominal_) || field.value(nominal_) == 0 ||
        !is_part(field, nominal_))
      continue;
    const double half = tolerance_of(field, t);
    if (half > 0)
      varied_.push_back({setting ? BuildProperty::setting : BuildProperty::part, std::string(field.pointer),
                         std::string(label_in(nominal_, field)), half, t.parts, &field});
  }
  if (nominal_.heater_v != 0 && t.setting_pct > 0)
    varied_.push_back({BuildProperty::heater, std::string(member::heater_v.pointer), "heater elevation",
                       t.setting_pct / 100, t.parts});
}

void BuildModel::vary_tubes(const Tolerances& t) {
  const int count = has_section(nominal_, 1) ? 2 : 1;
  const bool same_bottle =
      count == 2 && nominal_.tube[0] == nominal_.tube[1] && nominal_.tube[0]->sections >= 2;
  // What is left open of sections that were read is each one's own.
  const bool one_bottle = same_bottle && !t.known_section(0) && !t.known_section(1);
  const auto add = [&](BuildProperty kind, int section, double half, std::string label) {
    if (half <= 0) return;
    const std::string owner = section < 0              ? "tube"
                              : section == kFirstStage ? "first_stage"
                              : section == kGainSecond ? "first_stage_second"
                              : section >= kDriver     ? "driver_" + std::to_string(section - kDriver + 1)
                                                       : "section_" + std::to_string(section + 1);
    varied_.push_back({kind, owner + (kind == BuildProperty::mu ? "/mu" : "/plate_current"), std::move(label),
                       half, t.tubes, nullptr, section});
  };
  const auto words = [&](BuildProperty kind, int section) {
    const std::string what = kind == BuildProperty::mu ? "amplification factor" : "plate current";
    if (section < 0) return what + " of the whole tube";
    if (section == kFirstStage) return what + " of the first stage";
    if (section == kGainSecond) return what + " of the first stage's second section";
    if (section >= kDriver) return what + " of driver " + std::to_string(section - kDriver + 1);
    const std::string number = std::to_string(section + 1);
    if (one_bottle) return what + " of section " + number + " alone";
    if (same_bottle) return what + " of section " + number;
    return count == 1 ? what + " of the tube" : what + " of tube " + number;
  };
  for (const BuildProperty kind : {BuildProperty::plate_current, BuildProperty::mu}) {
    const auto half = [&](int i) {
      if (const Tolerances::Known* known = t.known_section(i))
        return (kind == BuildProperty::mu ? known->mu_pct : known->plate_current_pct) / 100;
      if (kind == BuildProperty::mu) return t.mu_pct / 100;
      const Tube& tube = *tube_numbered(nominal_, i);
      return t.plate_current_pct.value_or(tube.plate_current_spread_pct) / 100;
    };
    if (one_bottle) {
      const double own = kind == BuildProperty::mu ? kSectionShareOfMu : kSectionShareOfCurrent;
      add(kind, -1, half(0) * std::sqrt(1 - own * own), words(kind, -1));
      for (int i = 0; i < 2; ++i) add(kind, i, half(i) * own, words(kind, i));
    } else {
      for (int i = 0; i < count; ++i) add(kind, i, half(i), words(kind, i));
    }
    if (has_section(nominal_, kFirstStage))
      add(kind, kFirstStage, half(kFirstStage), words(kind, kFirstStage));
    for (int i = kDriver; i < kSections; ++i)
      if (has_section(nominal_, i)) add(kind, i, half(i), words(kind, i));
  }
  if (t.emission_left < 1)
    varied_.push_back({BuildProperty::emission, "emission", "emission left in the tubes",
                       (1 - t.emission_left) / 2, Scatter::uniform});
}

void BuildModel::draw(const engine::SobolPoints& points, std::uint32_t number, std::span<double> unit) const {
  for (std::size_t p = 0; p < varied_.size(); ++p) unit[p] = points.coordinate(number, varied_[p].dimension);
}

double BuildModel::deviation(std::size_t property, double unit) const {
  return varied_[property].scatter == Scatter::uniform
             ? 2 * unit - 1
             : engine::truncated_normal(unit, kNormalCut, below_cut());
}

double BuildModel::weight_if_halved(std::size_t property, double unit) const {
  const double z = deviation(property, unit);
  if (std::abs(z) > 0.5) return 0;
  if (varied_[property].scatter == Scatter::uniform) return 2;
  // ratio of the two densities: twice as narrow, cut at half the width
  const double x = z * kNormalCut;
  return 2 * std::exp(-1.5 * x * x);
}

Design BuildModel::build(std::span<const double> unit) const {
  std::array<double, engine::SobolPoints::kMostDimensions> z{};
  for (std::size_t p = 0; p < varied_.size(); ++p) z[p] = deviation(p, unit[p]);
  return build_at({z.data(), varied_.size()});
}

Design BuildModel::build_at(std::span<const double> deviation) const {
  assert(deviation.size() == varied_.size());
  Design d = nominal_;
  double mains = 1, heater = 1, emission = 1;
  std::array<double, kSections> current, mu;
  current.fill(1);
  mu.fill(1);
  for (std::size_t p = 0; p < varied_.size(); ++p) {
    const Varied& v = varied_[p];
    const double factor = 1 + v.half_width * deviation[p];
    switch (v.kind) {
      case BuildProperty::part:
      case BuildProperty::setting:
        v.field->at(d) *= factor;
        break;
      case BuildProperty::mains:
        mains = factor;
        break;
      case BuildProperty::heater:
        heater = factor;
        break;
      case BuildProperty::plate_current:
      case BuildProperty::mu: {
        auto& to = v.kind == BuildProperty::mu ? mu : current;
        for (int i = 0; i < kSections; ++i)
          if (v.section == i || (v.section < 0 && i < kSplitterSections)) to[i] *= factor;
        break;
      }
      case BuildProperty::emission:
        emission = 1 - v.half_width * (1 - deviation[p]);
        break;
    }
  }
  for (const auto& [whole, bare] : two_parts_)
    put_together(whole->value(nominal_), bare->value(nominal_), whole->at(d), bare->value(d));
  // What is held from outside is a share of the same supply.
  for (const DesignField* held : held_) held->at(d) *= mains;
  d.heater_v *= mains * heater;
  for (int i = 0; i < kSections; ++i) {
    if (!has_section(d, i)) continue;
    SectionSpread& s = spread_of(d, i);
    const double before = s.mu;
    s.mu = std::clamp(s.mu * mu[i], 0.5, 2.0);
    double scale = current[i];
    if (rest_a_[i] > 0 && s.mu != before) {
      // The card's scatter is that of the current at these voltages: the scale makes up for the other mu.
      TriodeSection specimen = section_numbered(nominal_, i);
      specimen.spread = {1, s.mu};
      const double a =
          specimen.currents_at(grid_to_cathode_v_[i], plate_to_cathode_v_[i], screen_to_cathode_v_[i])
              .plate_a;
      if (a > 0) scale *= rest_a_[i] / a;
    }
    s.current = std::clamp(s.current * std::clamp(scale, kLeastFactor, kMostFactor) * emission, 0.05, 5.0);
  }
  return d;
}

}  // namespace antiphase
