#include "stagemodels/circuits/long_tailed_pair.h"

#include "stagemodels/solve/scalar_root.h"

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

bool LongTailedPair::bracket_rest(State& state) const {
  const auto plate = [&](int i, double vk) {
    return plate_at_rest(law(i), design_.supply_v, plate_siemens(i), grid_rest_v(vk), vk);
  };
  const auto excess = [&](double vk) {
    return (design_.supply_v - plate(0, vk)) * plate_[0] + (design_.supply_v - plate(1, vk)) * plate_[1] -
           tail_current_a(vk);
  };
  double low = tail_foot_v_;
  for (double step = 1; excess(low) < 0; step *= 2) {
    low -= step;
    if (step > 4096) return false;
  }
  const ScalarRoot root = find_root(excess, low, design_.supply_v, kBracketTolerance_v);
  if (!root.found) return false;
  for (int i = 0; i < 2; ++i) {
    state.x[i][0] = state.y[capacitor_1 + i] = plate(i, root.x);
    state.y[grid_1 + i] = grid_rest_v(root.x);
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

void LongTailedPair::assemble(const Instants& instants, const State& state,
                              CycleEquations<kLocal, kBorder>& eq) const {
  const int n = instants.count;
  TriodeRows section[2];
  for (int i = 0; i < 2; ++i) {
    alignas(64) Row grid_to_cathode, plate_to_cathode;
    const double peak = i == 0 ? state.y[drive] : 0.0, mean = state.y[grid_1 + i];
    for (int k = 0; k < n; ++k) {
      const double vk = state.x[cathode][k];
      grid_to_cathode[k] = mean + peak * instants.cosine[k] - vk;
      plate_to_cathode[k] = state.x[i][k] - vk;
    }
    std::visit(
        [&](const auto& l) { l.currents(grid_to_cathode.data(), plate_to_cathode.data(), n, section[i]); },
        law(i));
  }
  const double grids_mean = state.y[grid_1] + state.y[grid_2];
  double plate_mean[2] = {0, 0}, cathode_mean = 0, grid_current_mean[2] = {0, 0};
  const bool leaks_to_node = design_.bias.form == BiasForm::self_biased;
  const bool grid_1_held = design_.bias.form == BiasForm::direct_coupled;

  for (auto& rows : eq.G_x)
    for (Row& row : rows) std::fill_n(row.begin(), n, 0.0);
  for (auto& row : eq.G_y) row.fill(0);

  for (int k = 0; k < n; ++k) {
    const double vk = state.x[cathode][k], w = instants.mean[k], cosine = instants.cosine[k];
    const double grids = grids_mean + state.y[drive] * cosine;
    double into_cathode = 0, by_cathode = 0;
    double by_grid[2];
    for (int i = 0; i < 2; ++i) {
      const TriodeRows& s = section[i];
      const double gm = s.plate_per_grid_s[k], gp = s.plate_per_plate_s[k], gg = s.grid_per_grid_s[k];
      const double vp = state.x[i][k];
      eq.F[i][k] =
          (design_.supply_v - vp) * plate_[i] - (vp - state.y[capacitor_1 + i]) * load_[i] - s.plate_a[k];
      eq.F_x[i][i][k] = -plate_[i] - load_[i] - gp;
      eq.F_x[i][1 - i][k] = 0;
      eq.F_x[i][cathode][k] = gm + gp;
      eq.F_x[cathode][i][k] = gp;
      into_cathode += s.plate_a[k] + s.grid_a[k];
      by_cathode += gm + gp + gg;
      by_grid[i] = gm + gg;
      eq.F_y[i][capacitor_1 + i][k] = load_[i];
      eq.F_y[i][capacitor_1 + (1 - i)][k] = 0;
      eq.F_y[i][grid_1 + i][k] = -gm;
      eq.F_y[i][grid_1 + (1 - i)][k] = 0;
      eq.F_y[i][drive][k] = i == 0 ? -gm * cosine : 0.0;
      eq.F_y[cathode][grid_1 + i][k] = by_grid[i] + grids_to_tail_;
      eq.F_y[cathode][capacitor_1 + i][k] = 0;
      plate_mean[i] += w * vp;
      grid_current_mean[i] += w * s.grid_a[k];
      // equation of the output capacitor: its voltage is the plate's mean (no mean current in the load)
      eq.G_x[capacitor_1 + i][i][k] = w;
      // equation of the grid: what flows into the grid comes through its leak
      const double leak_drop = design_.grid_leak_ohm * w * gg;
      const bool held = grid_1_held && i == 0;
      eq.G_x[grid_1 + i][cathode][k] =
          (held ? 0.0 : -leak_drop) - (leaks_to_node ? leak_from_cathode_ * w : 0.0);
      if (!held) {
        eq.G_y[grid_1 + i][grid_1 + i] += leak_drop;
        if (i == 0) eq.G_y[grid_1][drive] += leak_drop * cosine;
      }
    }
    eq.F[cathode][k] = into_cathode - cathode_siemens_ * vk - cathode_source_a_ + grids_to_tail_ * grids;
    eq.F_x[cathode][cathode][k] = -by_cathode - cathode_siemens_;
    eq.F_y[cathode][drive][k] = (by_grid[0] + grids_to_tail_) * cosine;
    cathode_mean += w * vk;
  }
  const double node_mean = leak_node_v(cathode_mean, grids_mean);
  for (int i = 0; i < 2; ++i) {
    eq.G[capacitor_1 + i] = plate_mean[i] - state.y[capacitor_1 + i];
    eq.G_y[capacitor_1 + i][capacitor_1 + i] = -1;
    const bool held = grid_1_held && i == 0;
    eq.G[grid_1 + i] =
        state.y[grid_1 + i] - node_mean + (held ? 0.0 : design_.grid_leak_ohm * grid_current_mean[i]);
    eq.G_y[grid_1 + i][grid_1 + i] += 1;
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
