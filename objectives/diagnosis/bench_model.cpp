#include "objectives/diagnosis/bench_model.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "objectives/diagnosis/signal_gain.h"
#include "optimize/engine/sampling/statistics.h"

namespace antiphase {
namespace {

constexpr double kNear_v = 1e-5;  // far below what any meter shows
// Where the meter takes a smaller share, what it takes follows from the resistance that it hangs on; where it
// takes more, the tubes' currents move with it and the circuit is solved with the meter in it.
constexpr double kTakesLittle = 0.02;

constexpr std::size_t at(int n) {
  return static_cast<std::size_t>(n);
}

double between(const NodeVolts& v, const BenchReading& r) {
  return v[at(r.a)] - v[at(r.b)];
}

/// Neither capacitors nor what follows behind them, nor the heaters, change the voltages of a sound stage.
bool seen_in_dc(const Varied& v) {
  if (v.kind == BuildProperty::heater) return false;
  return !v.field || (v.field->role != FieldRole::capacitor && v.field != &member::load_ohm);
}

Design with_law(Design d, int law) {
  d.law = law;
  return d;
}

bool wants(unsigned wanted, std::size_t k) {
  return (wanted >> k & 1u) != 0;
}

}  // namespace

/// What a fault does to the circuit, with its sizes.
struct BenchModel::Altered {
  Altered(const Fault& f, const BenchModel& model, const Deviates& z) {
    for (const Alteration& a : f.alterations()) alteration[alterations++] = a;
    for (int m = 0; m < f.magnitudes; ++m) {
      const Magnitude& magnitude = f.magnitude[at(m)];
      const double size = size_of(f, m, z[at(model.scattered() + m)]);
      if (magnitude.kind == Magnitude::Kind::scaled)
        alteration[alterations++] = {magnitude.element, Alteration::What::scaled, size};
      if (magnitude.kind == Magnitude::Kind::leak) {
        bridge[bridges] = magnitude.leak;
        bridge[bridges++].ohm = size;
      }
    }
  }
  RestCircuit circuit(const Design& d) const {
    return {circuit_of(d), d, {alteration.data(), alterations}, {bridge.data(), bridges}};
  }
  RestCircuit circuit_with(const Design& d, const Bridge& meter) {
    bridge[bridges] = meter;
    return {circuit_of(d), d, {alteration.data(), alterations}, {bridge.data(), bridges + 1}};
  }

  std::array<Alteration, Fault::kMostAltered + 2> alteration{};
  std::array<Bridge, 3> bridge{};
  std::size_t alterations = 0, bridges = 0;
};

BenchModel::BenchModel(const Design& design, const Tolerances& tolerances, int law, double meter_ohm,
                       std::span<const BenchReading> more)
    : model_(with_law(design, law), tolerances), readings_(bench_readings(design)), meter_ohm_(meter_ohm) {
  readings_.insert(readings_.end(), more.begin(), more.end());
  assert(readings_.size() <= kMostBenchReadings);
  const auto all = model_.varied();
  for (std::size_t p = 0; p < all.size(); ++p)
    if (seen_in_dc(all[p])) {
      place_.push_back(p);
      varied_.push_back(all[p]);
    }
  std::vector<const Tube*> types;
  for (const Element& e : circuit_of(design)) {
    if (e.kind != ElementKind::triode) continue;
    const Tube* tube = section_of(design, e).tube;
    const auto known = std::find(types.begin(), types.end(), tube);
    if (known == types.end()) laws_.push_back(0);
    laws_[static_cast<std::size_t>(known - types.begin())] |= 1u << e.section;
    if (known == types.end()) types.push_back(tube);
  }
  assert(scattered() + 2 <= kMostUnknowns);
}

bool BenchModel::even(std::size_t unknown) const {
  return unknown < varied_.size() && varied_[unknown].scatter == Scatter::uniform;
}

void BenchModel::scale_current(Design& d, unsigned sections, double times) {
  for (int s = 0; s < Circuit::kMostSections; ++s)
    if (sections >> s & 1u) spread_of(d, s).current *= times;
}

double BenchModel::deviation(std::size_t unknown, double deviate) const {
  if (varied_[unknown].scatter == Scatter::uniform) return 2 * engine::normal_share(deviate) - 1;
  return model_.deviation(place_[unknown], engine::normal_share(deviate));
}

void BenchModel::deviations(const Deviates& z, std::span<double> all) const {
  for (std::size_t u = 0; u < varied_.size(); ++u) all[place_[u]] = deviation(u, z[u]);
}

double BenchModel::size_of(const Fault& f, int m, double deviate) {
  const Magnitude& magnitude = f.magnitude[at(m)];
  return magnitude.low * std::pow(magnitude.high / magnitude.low, engine::normal_share(deviate));
}

Design BenchModel::with(const Fault& f, std::span<const double> deviation, const Deviates& z) const {
  Design d = model_.build_at(deviation);
  for (std::size_t t = 0; t < laws_.size(); ++t)
    scale_current(d, laws_[t], std::exp(kLawOff * z[varied_.size() + t]));
  for (int m = 0; m < f.magnitudes; ++m)
    if (f.magnitude[at(m)].kind == Magnitude::Kind::current)
      scale_current(d, f.magnitude[at(m)].sections, size_of(f, m, z[at(scattered() + m)]));
  return d;
}

Design BenchModel::build(const Fault& f, const Deviates& z) const {
  std::array<double, engine::SobolPoints::kMostDimensions> all{};
  deviations(z, all);
  return with(f, {all.data(), model_.varied().size()}, z);
}

/// By how much the supplies of a build stand above those that are drawn.
double BenchModel::mains_share(const Design& build) const {
  for (const Element& e : circuit_of(build))
    if (e.kind == ElementKind::held && e.member && e.there(build) && e.value(nominal()) != 0)
      return e.value(build) / e.value(nominal());
  return 1;
}

/// What a reading that is no direct voltage shows around these voltages at rest.
std::optional<double> BenchModel::shown_beside(const Altered& altered, const Design& d, const NodeVolts& rest,
                                               const BenchReading& r) const {
  if (r.kind == BenchReading::Kind::mains) return r.nominal_v * mains_share(d);
  const auto gain = signal_gain(d, {altered.alteration.data(), altered.alterations},
                                {altered.bridge.data(), altered.bridges}, rest, r, meter_ohm_);
  if (!gain) return std::nullopt;
  return r.input_v * *gain;
}

bool BenchModel::read(const Fault& f, const Deviates& z, bool near, unsigned wanted,
                      BenchPoint& point) const {
  const Design d = build(f, z);
  Altered altered(f, *this, z);
  const RestCircuit circuit = altered.circuit(d);
  if (!(near && circuit.settle(point.volts, kNear_v)) && !circuit.solve(point.volts)) return false;
  const RestCircuit::Slopes slopes = circuit.slopes_at(point.volts);
  if (!slopes.known()) return false;
  for (std::size_t k = 0; k < readings_.size(); ++k) {
    if (!wants(wanted, k)) continue;
    const BenchReading& r = readings_[k];
    if (r.kind != BenchReading::Kind::direct) {
      const auto shown = shown_beside(altered, d, point.volts, r);
      if (!shown) return false;
      point.shown[k] = *shown;
      continue;
    }
    const double takes = slopes.ohm_between(r.a, r.b) / meter_ohm_;
    point.shown[k] = between(point.volts, r) / (1 + takes);
    if (takes < kTakesLittle) continue;
    NodeVolts loaded = point.volts;
    const RestCircuit whole = altered.circuit_with(d, {r.a, r.b, meter_ohm_});
    if (!whole.settle(loaded, kNear_v) && !whole.solve(loaded)) return false;
    point.shown[k] = between(loaded, r);
  }
  return true;
}

/// A state of the circuit that readings are taken in, and what a small change does to it.
struct BenchModel::Stand {
  NodeVolts volts, before;  ///< amperes out of the nodes of the circuit without the meter
  RestCircuit::Slopes slopes;

  /// How far the nodes go when the build next door takes this one's place. Kirchhoff's sums of that build at
  /// these voltages are what flows into its nodes to make up; the slopes say how far that moves them.
  NodeVolts to(const RestCircuit& next) const {
    NodeVolts held = volts;
    next.hold(held);
    NodeVolts in = next.currents_out(held);
    for (std::size_t n = 0; n < in.size(); ++n) in[n] = before[n] - in[n];
    NodeVolts moved = slopes.rise(in);
    for (std::size_t n = 0; n < moved.size(); ++n) moved[n] += held[n] - volts[n];
    return moved;
  }
};

bool BenchModel::read_with_moves(const Fault& f, const Deviates& z, bool near, unsigned wanted,
                                 BenchPoint& point, Moves& moves) const {
  if (!read(f, z, near, wanted, point)) return false;
  constexpr double kStep = 1e-4;  // deviations
  std::array<double, engine::SobolPoints::kMostDimensions> all{};
  deviations(z, all);
  const std::span<double> used(all.data(), model_.varied().size());
  Altered altered(f, *this, z);
  const Design d = with(f, used, z);
  const RestCircuit circuit = altered.circuit(d);

  // The circuit without the meter, and with it where it takes more than little.
  constexpr std::size_t kMostLoaded = 8;
  std::array<Stand, kMostLoaded + 1> stand;
  std::array<std::size_t, kMostBenchReadings> stands_in{};
  std::array<double, kMostBenchReadings> keeps{};  // of a change, what is left with the meter across it
  std::size_t stands = 1;
  stand[0] = {point.volts, circuit.currents_out(point.volts), circuit.slopes_at(point.volts)};
  for (std::size_t k = 0; k < readings_.size(); ++k) {
    if (!wants(wanted, k)) continue;
    const BenchReading& r = readings_[k];
    if (r.kind != BenchReading::Kind::direct) continue;
    const double takes = stand[0].slopes.ohm_between(r.a, r.b) / meter_ohm_;
    keeps[k] = 1 / (1 + takes);
    if (takes < kTakesLittle || stands > kMostLoaded) continue;
    NodeVolts loaded = point.volts;
    const RestCircuit whole = altered.circuit_with(d, {r.a, r.b, meter_ohm_});
    if (!whole.settle(loaded, kNear_v) && !whole.solve(loaded)) return false;
    keeps[k] = 1;
    stands_in[k] = stands;
    stand[stands++] = {loaded, circuit.currents_out(loaded), whole.slopes_at(loaded)};
  }

  for (std::size_t u = 0; u < at(scattered()); ++u) {
    const bool of_builds = u < varied_.size();
    Deviates z_next = z;
    z_next[u] += kStep;
    const double here = of_builds ? used[place_[u]] : 0;
    if (of_builds) used[place_[u]] = deviation(u, z_next[u]);
    const Design next = with(f, used, z_next);
    if (of_builds) used[place_[u]] = here;
    const RestCircuit of_next = altered.circuit(next);
    std::array<NodeVolts, kMostLoaded + 1> moved;
    for (std::size_t s = 0; s < stands; ++s) moved[s] = stand[s].to(of_next);
    NodeVolts next_volts = point.volts;
    for (std::size_t n = 0; n < next_volts.size(); ++n) next_volts[n] += moved[0][n];
    for (std::size_t k = 0; k < readings_.size(); ++k) {
      if (!wants(wanted, k)) continue;
      if (readings_[k].kind == BenchReading::Kind::direct) {
        moves[k][u] = keeps[k] * between(moved[stands_in[k]], readings_[k]) / kStep;
        continue;
      }
      const auto shown = shown_beside(altered, next, next_volts, readings_[k]);
      if (!shown) return false;
      moves[k][u] = (*shown - point.shown[k]) / kStep;
    }
  }
  return move_sizes(f, z, wanted, point, moves);
}

/// A fault's sizes go far and not straight: whole differences.
bool BenchModel::move_sizes(const Fault& f, const Deviates& z, unsigned wanted, const BenchPoint& point,
                            Moves& moves) const {
  constexpr double kStep = 0.02;  // deviations
  for (int m = 0; m < f.magnitudes; ++m) {
    const std::size_t u = at(scattered() + m);
    Deviates next = z;
    next[u] += kStep;
    BenchPoint moved = point;
    if (!read(f, next, true, wanted, moved)) return false;
    for (std::size_t k = 0; k < readings_.size(); ++k)
      if (wants(wanted, k)) moves[k][u] = (moved.shown[k] - point.shown[k]) / kStep;
  }
  return true;
}

}  // namespace antiphase
