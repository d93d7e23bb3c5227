#include "stagemodels/circuits/long_tailed_pair.h"

#include <algorithm>

#include "stagemodels/solve/scalar_root.h"
#include "stagemodels/wide.h"

namespace antiphase {
namespace {

constexpr double kBracketTolerance_v = 1e-11;

/// Plate voltage at which the section's current is what comes through its plate resistor.
double plate_at_rest(const TriodeLaw& law, double supply_v, double plate_siemens, double grid_v,
                     double cathode_v) {
  const auto excess = [&](double plate_v) {
    return (supply_v - plate_v) * plate_siemens -
           currents_at(law, grid_v - cathode_v, plate_v - cathode_v).plate_a;
  };
  // At the supply no current comes; far below it the section passes none.
  double low = std::fmin(cathode_v, supply_v) - 1;
  while (excess(low) < 0 && low > -1e6) low = 2 * low - std::fabs(supply_v) - 1;
  return find_root(excess, low, supply_v, kBracketTolerance_v).x;
}

}  // namespace

LongTailedPair::LongTailedPair(const Design& design) : design_(design) {
  for (std::size_t i = 0; i < 2; ++i) {
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
  }
}

double LongTailedPair::leak_node_v(double cathode_v, double grids_sum_v) const {
  switch (design_.bias.form) {
    case BiasForm::self_biased:
      return leak_from_cathode_ * cathode_v + leak_from_grids_ * grids_sum_v + leak_offset_v_;
    case BiasForm::direct_coupled:
      return design_.bias.grid_v;
    case BiasForm::negative_rail:
      break;
  }
  return 0;
}

double LongTailedPair::tail_current_a(double cathode_v) const {
  if (design_.bias.form != BiasForm::self_biased) return cathode_siemens_ * cathode_v + cathode_source_a_;
  return (cathode_v - grid_rest_v(cathode_v)) / design_.bias.ohm;
}

double LongTailedPair::grid_rest_v(double cathode_v) const {
  if (design_.bias.form != BiasForm::self_biased) return leak_node_v(cathode_v, 0);
  const double bias = 1 / design_.bias.ohm;
  return (bias * cathode_v - tail_source_a_) / (bias + tail_siemens_);
}

bool LongTailedPair::guess_rest(State& state) const {
  const double ohm = 0.5 * (design_.plate_ohm[0] + design_.plate_ohm[1]);
  const auto excess = [&](double vk) {
    const double each = 0.5 * tail_current_a(vk);
    return currents_at(law(0), grid_rest_v(vk) - vk, design_.supply_v - each * ohm - vk).plate_a - each;
  };
  double low = tail_foot_v_;
  for (double step = 1; excess(low) < 0; step *= 2) {
    low -= step;  // a sink pulls the cathode down until the section passes its current
    if (step > 4096) return false;
  }
  const ScalarRoot root = find_root(excess, low, design_.supply_v, 1e-3);
  if (!root.found) return false;
  const double vk = root.x, each = 0.5 * tail_current_a(vk);
  for (std::size_t i = 0; i < 2; ++i) {
    state.x[i][0] = state.y[capacitor_1 + i] = design_.supply_v - each * design_.plate_ohm[i];
    state.y[grid_1 + i] = grid_rest_v(vk);
  }
  state.x[cathode][0] = vk;
  state.y[drive] = 0;
  return true;
}

double LongTailedPair::conducting_grid_v(int section, double cathode_v) const {
  const double foot = grid_rest_v(cathode_v);
  const bool held = section == 0 && design_.bias.form == BiasForm::direct_coupled;
  // With self-bias no grid is positive at rest, and what little current flows is left to Newton.
  if (held || design_.bias.form == BiasForm::self_biased || !has_grid_current(law(section))) return foot;
  const auto excess = [&](double grid_v) {
    return grid_v - foot + design_.grid_leak_ohm * currents_at(law(section), grid_v - cathode_v, foot).grid_a;
  };
  const double at_foot = excess(foot);  // what the leak would drop if the grid stood at its foot
  return at_foot > 0 ? find_root(excess, foot - at_foot, foot, kBracketTolerance_v).x : foot;
}

bool LongTailedPair::bracket_rest(State& state) const {
  const auto plate = [&](int i, double vk) {
    return plate_at_rest(law(i), design_.supply_v, plate_siemens(i), conducting_grid_v(i, vk), vk);
  };
  const auto excess = [&](double vk) {
    double sum = -tail_current_a(vk);
    for (int i = 0; i < 2; ++i) {
      const double vp = plate(i, vk);
      sum += (design_.supply_v - vp) * plate_[i] +
             currents_at(law(i), conducting_grid_v(i, vk) - vk, vp - vk).grid_a;
    }
    return sum;
  };
  double low = tail_foot_v_;
  for (double step = 1; excess(low) < 0; step *= 2) {
    low -= step;
    if (step > 4096) return false;
  }
  const double high = std::fmax(design_.supply_v, design_.bias.form == BiasForm::direct_coupled ? design_.bias.grid_v : 0);
  const ScalarRoot root = find_root(excess, low, high, kBracketTolerance_v);
  if (!root.found) return false;
  for (int i = 0; i < 2; ++i) {
    state.x[i][0] = state.y[capacitor_1 + i] = plate(i, root.x);
    state.y[grid_1 + i] = conducting_grid_v(i, root.x);
  }
  state.x[cathode][0] = root.x;
  state.y[drive] = 0;
  return true;
}

double LongTailedPair::input_siemens(double cathode_gain) const {
  if (design_.bias.form == BiasForm::direct_coupled) return 0;
  if (design_.bias.form == BiasForm::negative_rail) return leak_siemens_;
  return leak_siemens_ * (1 - leak_from_cathode_ * cathode_gain - leak_from_grids_);
}

ANTIPHASE_WIDE
void LongTailedPair::assemble(const Instants& instants, const State& state,
                              CycleEquations<kLocal, kBorder>& eq) const {
  const int n = instants.count;
  const double* const vk = state.x[cathode].data();
  const double* const cosine = instants.cosine.data();
  const double grids = state.y[grid_1] + state.y[grid_2], peak = state.y[drive];
  const double to_tail = grids_to_tail_, into_tail = cathode_siemens_, source = cathode_source_a_;
  double* const at_cathode = eq.F[cathode].data();
  double* const by_cathode = eq.F_x[cathode][cathode].data();
  double* const cathode_by_drive = eq.F_y[cathode][drive].data();
#pragma GCC ivdep
  for (int k = 0; k < n; ++k) {
    at_cathode[k] = to_tail * (grids + peak * cosine[k]) - into_tail * vk[k] - source;
    by_cathode[k] = -into_tail;
  }

  const bool leaks_to_node = design_.bias.form == BiasForm::self_biased;
  const double node_mean = leak_node_v(rows::dot(instants.mean.data(), vk, n), grids);
  for (auto& row : eq.G_y) row.fill(0);

  for (int i = 0; i < 2; ++i) {
    TriodeRows s;
    alignas(64) Row grid_to_cathode, plate_to_cathode;
    const double* const vp = state.x[i].data();
    const double own_peak = i == 0 ? peak : 0.0, mean = state.y[grid_1 + i];
#pragma GCC ivdep
    for (int k = 0; k < n; ++k) {
      grid_to_cathode[k] = mean + own_peak * cosine[k] - vk[k];
      plate_to_cathode[k] = vp[k] - vk[k];
    }
    std::visit([&](const auto& l) { l.currents(grid_to_cathode.data(), plate_to_cathode.data(), n, s); }, law(i));

    const double supply = design_.supply_v, capacitor = state.y[capacitor_1 + i];
    const double plate = plate_[i], load = load_[i], driven = i == 0 ? 1.0 : 0.0;
    double* const at_plate = eq.F[i].data();
    double* const by_plate = eq.F_x[i][i].data();
    double* const by_other = eq.F_x[i][1 - i].data();
    double* const plate_by_cathode = eq.F_x[i][cathode].data();
    double* const cathode_by_plate = eq.F_x[cathode][i].data();
    double* const by_capacitor = eq.F_y[i][capacitor_1 + i].data();
    double* const by_other_capacitor = eq.F_y[i][capacitor_1 + (1 - i)].data();
    double* const cathode_by_capacitor = eq.F_y[cathode][capacitor_1 + i].data();
    double* const by_grid = eq.F_y[i][grid_1 + i].data();
    double* const by_other_grid = eq.F_y[i][grid_1 + (1 - i)].data();
    double* const cathode_by_grid = eq.F_y[cathode][grid_1 + i].data();
    double* const by_drive = eq.F_y[i][drive].data();
#pragma GCC ivdep
    for (int k = 0; k < n; ++k) {
      const double gm = s.plate_per_grid_s[k], gp = s.plate_per_plate_s[k], gg = s.grid_per_grid_s[k];
      at_plate[k] = (supply - vp[k]) * plate - (vp[k] - capacitor) * load - s.plate_a[k];
      by_plate[k] = -plate - load - gp;
      by_other[k] = 0;
      plate_by_cathode[k] = gm + gp;
      cathode_by_plate[k] = gp;
      by_capacitor[k] = load;
      by_other_capacitor[k] = 0;
      cathode_by_capacitor[k] = 0;
      by_grid[k] = -gm;
      by_other_grid[k] = 0;
      by_drive[k] = -driven * gm * cosine[k];
      cathode_by_grid[k] = gm + gg + to_tail;
      at_cathode[k] += s.plate_a[k] + s.grid_a[k];
      by_cathode[k] -= gm + gp + gg;
    }
    if (i == 0)
      for (int k = 0; k < n; ++k) cathode_by_drive[k] = cathode_by_grid[k] * cosine[k];

    // The output capacitor stands at the plate's mean: no mean current flows in the load.
    eq.G[capacitor_1 + i] = rows::dot(instants.mean.data(), vp, n) - capacitor;
    eq.G_y[capacitor_1 + i][capacitor_1 + i] = -1;
    std::copy_n(instants.mean.begin(), n, eq.G_x[capacitor_1 + i][i].begin());

    // The grid stands where its leak hangs, less what its mean current drops there; a direct-coupled
    // grid 1 is held by the stage before.
    const bool held = i == 0 && design_.bias.form == BiasForm::direct_coupled;
    const double leak = held ? 0.0 : design_.grid_leak_ohm;
    eq.G[grid_1 + i] = mean - node_mean + leak * rows::dot(instants.mean.data(), s.grid_a.data(), n);
    const double by_cathode_mean = leaks_to_node ? leak_from_cathode_ : 0.0;
    double* const grid_by_cathode = eq.G_x[grid_1 + i][cathode].data();
    double slope_mean = 0, slope_drive = 0;
    for (int k = 0; k < n; ++k) {
      const double drop = leak * instants.mean[k] * s.grid_per_grid_s[k];
      grid_by_cathode[k] = -drop - by_cathode_mean * instants.mean[k];
      slope_mean += drop;
      slope_drive += drop * driven * cosine[k];
    }
    eq.G_y[grid_1 + i][grid_1 + i] += 1 + slope_mean;
    eq.G_y[grid_1 + i][drive] += slope_drive;
    if (leaks_to_node) {
      eq.G_y[grid_1 + i][grid_1] -= leak_from_grids_;
      eq.G_y[grid_1 + i][grid_2] -= leak_from_grids_;
    }
  }
}

void LongTailedPair::describe(const Instants& instants, const State& state, Waveforms& out) const {
  out.instants = instants.count;
  out.drive = instants.cosine;
  out.cathode_v = state.x[cathode];
  for (int i = 0; i < 2; ++i) {
    const double peak = i == 0 ? state.y[drive] : 0.0;
    out.plate_v[i] = state.x[i];
    for (int k = 0; k < instants.count; ++k) {
      const double vp = state.x[i][k];
      out.output_v[i][k] = vp - state.y[capacitor_1 + i];
      // Kirchhoff at the plate: exact, and needs no call of the law
      out.plate_current_a[i][k] = (design_.supply_v - vp) * plate_[i] - out.output_v[i][k] * load_[i];
      out.grid_to_cathode_v[i][k] = state.y[grid_1 + i] + peak * instants.cosine[k] - state.x[cathode][k];
      out.grid_current_a[i][k] = 0;
    }
    if (has_grid_current(law(i)))
      for (int k = 0; k < instants.count; ++k)
        out.grid_current_a[i][k] =
            currents_at(law(i), out.grid_to_cathode_v[i][k], state.x[i][k] - state.x[cathode][k]).grid_a;
  }
  for (int k = 0; k < instants.count; ++k) {
    const double vk = state.x[cathode][k];
    const double grids = state.y[grid_1] + state.y[grid_2] + state.y[drive] * instants.cosine[k];
    const double top = design_.bias.form == BiasForm::self_biased ? leak_node_v(vk, grids) : vk;
    out.tail_v[k] = top - tail_foot_v_;
  }
}

}  // namespace antiphase
