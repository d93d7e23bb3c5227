#include "stagemodels/circuits/pair_network.h"

#include <cmath>

#include "stagemodels/circuits/surroundings.h"
#include "stagemodels/solve/scalar_root.h"

namespace antiphase {
namespace {

constexpr double kBracketTolerance_v = 1e-11;

/// Plate voltage at which the section's current is what comes through its plate resistor.
double plate_at_rest(const TriodeSection& section, double supply_v, double plate_siemens, double grid_v,
                     double cathode_v) {
  const auto excess = [&](double plate_v) {
    return (supply_v - plate_v) * plate_siemens -
           section.currents_at(grid_v - cathode_v, plate_v - cathode_v).plate_a;
  };
  // At the supply no current comes; far below it the section passes none.
  double low = std::fmin(cathode_v, supply_v) - 1;
  while (excess(low) < 0 && low > -1e6) low = 2 * low - std::fabs(supply_v) - 1;
  return find_root(excess, low, supply_v, kBracketTolerance_v).x;
}

}  // namespace

PairNetwork::PairNetwork(const Design& design, bool output_grids) : design_(design) {
  for (std::size_t i = 0; i < 2; ++i) {
    section_[i] = design.section(static_cast<int>(i));
    plate_[i] = 1 / design.plate_ohm[i];
    load_[i] = 1 / design.load_ohm;
  }
  leak_siemens_ = 1 / design.grid_leak_ohm;
  if (design.tail.form == TailForm::resistor) {
    tail_siemens_ = 1 / design.tail.ohm;
  } else {
    tail_siemens_ = 1 / design.tail.output_ohm;
    tail_source_a_ = design.tail.current_a;
  }
  if (design.bias.form == BiasForm::negative_rail) tail_foot_v_ = design.bias.rail_v;
  // Norton equivalent of the tail against ground
  const double source_a = tail_source_a_ - tail_siemens_ * tail_foot_v_;
  if (design.bias.form == BiasForm::self_biased) {
    const double bias = 1 / design.bias.ohm;
    const double node = bias + 2 * leak_siemens_ + tail_siemens_;
    leak_from_cathode_ = bias / node;
    leak_from_grids_ = leak_siemens_ / node;
    leak_offset_v_ = -source_a / node;
    cathode_siemens_ = bias * (1 - leak_from_cathode_);
    grids_to_tail_ = bias * leak_from_grids_;
    cathode_source_a_ = -bias * leak_offset_v_;
  } else {
    cathode_siemens_ = tail_siemens_;
    cathode_source_a_ = source_a;
    leak_offset_v_ = design.bias.form == BiasForm::direct_coupled ? design.bias.grid_v : 0;
  }
  drop_1_ohm_ = grid_1_held() ? 0 : design.grid_leak_ohm;
  drop_2_ohm_ = design.grid_leak_ohm;
  source_siemens_ = 1 / std::fmax(design.source_ohm, kLeastSource_ohm);
  if (design.main_supply_v > 0) main_siemens_ = 1 / design.dropping_ohm;
  if (output_grids && design.output_valve) {
    output_grid_ = design.output_valve->grid;
    output_bias_v_ = design.output_valve_bias_v;
  }
}

double PairNetwork::leak_node_v(double cathode_v, double grids_sum_v) const {
  return leak_from_cathode_ * cathode_v + leak_from_grids_ * grids_sum_v + leak_offset_v_;
}

double PairNetwork::tail_current_a(double cathode_v) const {
  if (design_.bias.form != BiasForm::self_biased) return cathode_siemens_ * cathode_v + cathode_source_a_;
  return (cathode_v - grid_rest_v(cathode_v)) / design_.bias.ohm;
}

double PairNetwork::grid_rest_v(double cathode_v) const {
  if (design_.bias.form != BiasForm::self_biased) return leak_offset_v_;
  const double bias = 1 / design_.bias.ohm;
  return (bias * cathode_v - tail_source_a_) / (bias + tail_siemens_);
}

double PairNetwork::grid_rest_slope() const {
  if (design_.bias.form != BiasForm::self_biased) return 0;
  const double bias = 1 / design_.bias.ohm;
  return bias / (bias + tail_siemens_);
}

bool PairNetwork::guess_rest(RestGuess& at) const {
  const bool dropped = main_siemens_ > 0;
  const double from_v = dropped ? design_.main_supply_v : design_.supply_v;
  const double own_ohm = 0.5 * (design_.plate_ohm[0] + design_.plate_ohm[1]);
  const double ohm = own_ohm + (dropped ? 2 * design_.dropping_ohm : 0);  // of one section's current
  const double tail_slope = tail_current_a(1) - tail_current_a(0), grid_slope = grid_rest_slope();
  // How much more the section passes than the tail takes; falls as the cathode rises.
  double slope = 0;
  const auto excess = [&](double vk) {
    const double each = 0.5 * tail_current_a(vk);
    const TriodeCurrents c = section(0).currents_at(grid_rest_v(vk) - vk, from_v - each * ohm - vk);
    slope = c.plate_per_grid_s * (grid_slope - 1) - c.plate_per_plate_s * (1 + 0.5 * tail_slope * ohm) -
            0.5 * tail_slope;
    return c.plate_a - each;
  };
  double low = tail_foot_v_, high = from_v;
  double f = excess(low);
  for (double step = 1; f < 0; step *= 2) {
    high = low;
    low -= step;  // a sink pulls the cathode down until the section passes its current
    if (step > 4096) return false;
    f = excess(low);
  }
  // Newton inside the bracket, halving where it would leave it.
  constexpr double kTolerance_v = 1e-2;  // the sections differ by more
  constexpr int kMostSteps = 100;
  double vk = low;
  for (int n = 0; n < kMostSteps; ++n) {
    double next = vk - f / slope;
    if (!(next > low && next < high)) next = 0.5 * (low + high);
    const double moved = std::fabs(next - vk);
    vk = next;
    if (moved < kTolerance_v) break;
    f = excess(vk);
    (f > 0 ? low : high) = vk;
  }
  const double each = 0.5 * tail_current_a(vk);
  at.supply_v = from_v - (dropped ? 2 * each * design_.dropping_ohm : 0);
  at.cathode_v = vk;
  at.grid_v = grid_rest_v(vk);
  for (std::size_t i = 0; i < 2; ++i) at.plate_v[i] = at.supply_v - each * design_.plate_ohm[i];
  return true;
}

double PairNetwork::conducting_grid_v(int section, double cathode_v) const {
  const double foot = grid_rest_v(cathode_v);
  const bool held = section == 0 && grid_1_held();
  // With self-bias no grid is positive at rest, and what little current flows is left to Newton.
  if (held || design_.bias.form == BiasForm::self_biased || !this->section(section).has_grid_current())
    return foot;
  const auto excess = [&](double grid_v) {
    return grid_v - foot +
           design_.grid_leak_ohm * this->section(section).currents_at(grid_v - cathode_v, foot).grid_a;
  };
  const double at_foot = excess(foot);  // what the leak would drop if the grid stood at its foot
  return at_foot > 0 ? find_root(excess, foot - at_foot, foot, kBracketTolerance_v).x : foot;
}

bool PairNetwork::bracket_rest(RestGuess& at, std::array<double, 2>& grid_v) const {
  const auto plates = [&](double supply_v, double vk) {
    for (int i = 0; i < 2; ++i) {
      grid_v[i] = conducting_grid_v(i, vk);
      at.plate_v[i] = plate_at_rest(section(i), supply_v, plate_siemens(i), grid_v[i], vk);
    }
  };
  const auto supply = [&](double vk) {
    if (!(main_siemens_ > 0)) return design_.supply_v;
    const auto short_of = [&](double supply_v) {
      plates(supply_v, vk);
      double sum = (design_.main_supply_v - supply_v) * main_siemens_;
      for (int i = 0; i < 2; ++i) sum -= (supply_v - at.plate_v[i]) * plate_[i];
      return sum;
    };
    double low = 0;
    while (short_of(low) < 0 && low > -1e6) low = 2 * low - 100;
    return find_root(short_of, low, design_.main_supply_v, kBracketTolerance_v).x;
  };
  const auto excess = [&](double vk) {
    at.supply_v = supply(vk);
    plates(at.supply_v, vk);
    double sum = -tail_current_a(vk);
    for (int i = 0; i < 2; ++i)
      sum += (at.supply_v - at.plate_v[i]) * plate_[i] +
             section(i).currents_at(grid_v[i] - vk, at.plate_v[i] - vk).grid_a;
    return sum;
  };
  double low = tail_foot_v_;
  for (double step = 1; excess(low) < 0; step *= 2) {
    low -= step;
    if (step > 4096) return false;
  }
  const double high = std::fmax(cold_supply_v(design_), grid_1_held() ? design_.bias.grid_v : 0);
  const ScalarRoot root = find_root(excess, low, high, kBracketTolerance_v);
  if (!root.found) return false;
  at.cathode_v = root.x;
  excess(root.x);
  return true;
}

double PairNetwork::input_siemens(double cathode_gain) const {
  // directly coupled, the leak of grid 2 hangs on grid 1
  if (design_.bias.form != BiasForm::self_biased) return leak_siemens_;
  return leak_siemens_ * (1 - leak_from_cathode_ * cathode_gain - leak_from_grids_);
}

void PairNetwork::describe_instant(int k, double grid_1_v, double grid_2_v, double supply_v,
                                   const Pair& capacitor_v, Waveforms& out) const {
  const double vk = out.cathode_v[k];
  const double grid_v[2] = {grid_1_v, grid_2_v};
  for (int i = 0; i < 2; ++i) {
    const double vp = out.plate_v[i][k];
    const double output = vp - capacitor_v[i];
    out.output_v[i][k] = output;
    // Kirchhoff at the plate: exact, and needs no call of the law
    out.plate_current_a[i][k] = (supply_v - vp) * plate_[i] - output * load_[i] - out.output_grid_a[i][k];
    out.grid_to_cathode_v[i][k] = grid_v[i] - vk;
  }
  const double top = design_.bias.form == BiasForm::self_biased ? leak_node_v(vk, grid_1_v + grid_2_v) : vk;
  out.tail_v[k] = top - tail_foot_v_;
}

}  // namespace antiphase
