#include "stagemodels/circuits/tape_solver.h"

#include <atomic>
#include <cmath>
#include <cstring>
#include <limits>
#include <memory>
#include <new>

#include "stagemodels/circuits/made_once.h"
#include "stagemodels/circuits/section_rows.h"
#include "stagemodels/solve/bordered_newton.h"
#include "stagemodels/solve/small_system.h"
#include "stagemodels/wide.h"

namespace antiphase {

/// Currents of all tubes at all instants, and what of each row does not change over the cycle.
struct TapeSolver::Currents {
  SectionRows at[kMostPairs];
  alignas(64) Row output_grid_a, output_grid_s;
  ScreenRows screen;
  double still[Coefficients::kMost];
};

namespace {

/// So many instants an operation is done for.
constexpr int kBlock = 16;

/// Instants side by side, as the compilers' own vector type: loops over so few would be unrolled to single
/// instants before anything makes vectors of them.
template <int W>
struct Block {
  static constexpr int kLanes = newton::kLanes, kVectors = W / kLanes;
  using Vector = double __attribute__((vector_size(kLanes * sizeof(double))));
};
template <>
struct Block<1> {
  static constexpr int kLanes = 1, kVectors = 1;
  using Vector = double;
};
template <int W>
using Slot = typename Block<W>::Vector[Block<W>::kVectors];

/// The steps for W instants. `mean`: sums over instants, in the order of newton::whole.
template <int W>
ANTIPHASE_INLINE void run(const TapeStep* from, const TapeStep* end, const Coefficients& numbers,
                          const double* still, const Slot<W>& weight, Slot<W>* slot,
                          typename Block<W>::Vector* mean) {
  using What = TapeStep::What;
  using Vector = typename Block<W>::Vector;
  const double* linear = &numbers.linear[0][0];
  for (const TapeStep* s = from; s != end; ++s) {
    Vector* to = slot[s->to];
    const Vector *a = slot[s->a], *b = slot[s->b];
    const auto at_each = [&](auto value) ANTIPHASE_INTO_CALLER {
      for (int i = 0; i < Block<W>::kVectors; ++i) value(i);
    };
    switch (s->what) {
      case What::still:
        at_each([&, by = still[s->a]](int i) ANTIPHASE_INTO_CALLER { to[i] = Vector{} + by; });
        break;
      case What::linear:
        at_each([&, by = linear[s->a]](int i) ANTIPHASE_INTO_CALLER { to[i] = Vector{} + by; });
        break;
      case What::add_linear:
        at_each([&, by = linear[s->a]](int i) ANTIPHASE_INTO_CALLER { to[i] += by; });
        break;
      case What::add_linear_times:
        at_each([&, by = linear[s->a]](int i) ANTIPHASE_INTO_CALLER { to[i] += by * b[i]; });
        break;
      case What::scaled:
        at_each([&, by = numbers.scale[s->b]](int i) ANTIPHASE_INTO_CALLER { to[i] = a[i] * by; });
        break;
      case What::scale:
        at_each([&, by = numbers.scale[s->a]](int i) ANTIPHASE_INTO_CALLER { to[i] *= by; });
        break;
      case What::copy:
        at_each([&](int i) ANTIPHASE_INTO_CALLER { to[i] = a[i]; });
        break;
      case What::negate:
        at_each([&](int i) ANTIPHASE_INTO_CALLER { to[i] = -a[i]; });
        break;
      case What::add:
        at_each([&](int i) ANTIPHASE_INTO_CALLER { to[i] += a[i]; });
        break;
      case What::subtract:
        at_each([&](int i) ANTIPHASE_INTO_CALLER { to[i] -= a[i]; });
        break;
      case What::sum:
        at_each([&](int i) ANTIPHASE_INTO_CALLER { to[i] = a[i] + b[i]; });
        break;
      case What::times:
        at_each([&](int i) ANTIPHASE_INTO_CALLER { to[i] *= a[i]; });
        break;
      case What::inverse:
        at_each([&](int i) ANTIPHASE_INTO_CALLER { to[i] = 1 / a[i]; });
        break;
      case What::product:
        at_each([&](int i) ANTIPHASE_INTO_CALLER { to[i] = a[i] * b[i]; });
        break;
      case What::negative_product:
        at_each([&](int i) ANTIPHASE_INTO_CALLER { to[i] = -(a[i] * b[i]); });
        break;
      case What::add_product:
        at_each([&](int i) ANTIPHASE_INTO_CALLER { to[i] += a[i] * b[i]; });
        break;
      case What::subtract_product:
        at_each([&](int i) ANTIPHASE_INTO_CALLER { to[i] -= a[i] * b[i]; });
        break;
      case What::add_to_mean:
        at_each([&](int i) ANTIPHASE_INTO_CALLER { mean[s->to] += weight[i] * a[i]; });
        break;
    }
  }
}

}  // namespace

/// Newton's steps (newton::iterate), W instants at a time.
template <int W>
struct TapeSolver::Steps {
  static constexpr int kLanes = W < newton::kLanes ? W : newton::kLanes;

  TapeSolver& at;
  const Instants& instants;
  const DriveCondition& drive;
  CycleState& state;
  CycleState& kept;
  int count;

  ANTIPHASE_INLINE double pass();
  ANTIPHASE_INLINE double make_step();
  ANTIPHASE_INLINE void keep() { copy(state, kept); }
  ANTIPHASE_INLINE void back() { copy(kept, state); }
  ANTIPHASE_INLINE void move(double share) {
    for (int r = 0; r < at.shape_.locals; ++r)
      for (int k = 0; k < count; ++k) state.x[r][k] += share * at.step_[r][k];
    for (int b = 0; b < at.shape_.still; ++b) state.y[b] += share * at.step_y_[b];
  }
  ANTIPHASE_INLINE void copy(const CycleState& from, CycleState& to) const {
    for (int r = 0; r < at.shape_.locals; ++r)
      for (int k = 0; k < count; ++k) to.x[r][k] = from.x[r][k];
    for (int b = 0; b < at.shape_.still; ++b) to.y[b] = from.y[b];
  }
  /// Of values at the instants: what the drive's condition holds.
  ANTIPHASE_INLINE double along(const double* a) const {
    double part[kLanes] = {};
    for (int first = 0; first < count; first += kLanes)
      for (int lane = 0; lane < kLanes; ++lane)
        part[lane] += instants.harmonic[1][first + lane] * a[first + lane];
    return drive.sign * newton::whole(part);
  }
};

template <int W>
ANTIPHASE_INLINE double TapeSolver::Steps<W>::pass() {
  const Shape& shape = at.shape_;
  const Tape& tape = at.tape_;
  const int locals = shape.locals, still = shape.still;
  Currents now;
  at.sweep(instants, state, count, now);

  using Vector = typename Block<W>::Vector;
  constexpr int kVectors = Block<W>::kVectors;
  alignas(64) Slot<W> slot[Tape::kMostSlots];
  alignas(64) Vector mean[Tape::kMostMeans];
  for (int m = 0; m < tape.means; ++m) mean[m] = Vector{};
  alignas(64) double largest[kLanes] = {}, check[kLanes] = {};
  const TapeStep* const begin = tape.step.data();
  for (int first = 0; first < count; first += W) {
    const auto take_in = [&](Slot<W>& to, const double* from)
                             ANTIPHASE_INTO_CALLER { std::memcpy(&to, from, sizeof to); };
    for (int r = 0; r < locals; ++r) take_in(slot[tape.node_in + r], &state.x[r][first]);
    Slot<W>&cosine = slot[tape.cosine_in], &source = slot[tape.source_in], weight;
    take_in(cosine, &instants.cosine[first]);
    take_in(weight, &instants.mean[first]);
    for (int i = 0; i < kVectors; ++i) source[i] = state.y[0] * cosine[i];
    for (int t = 0; t < shape.sections; ++t) {
      const TriodeRows& rows = now.at[t / 2].rows;
      const int from = t % 2 * count + first;
      Slot<W>* const to = &slot[tape.section_in + Tape::kPerSection * t];
      take_in(to[0], &rows.plate_a[from]);
      take_in(to[1], &rows.grid_a[from]);
      take_in(to[2], &rows.plate_per_grid_s[from]);
      take_in(to[3], &rows.plate_per_plate_s[from]);
      take_in(to[4], &rows.grid_per_grid_s[from]);
    }
    for (int g = 0; g < shape.grids; ++g) {
      Slot<W>* const to = &slot[tape.grid_in + Tape::kPerGrid * g];
      take_in(to[0], &now.output_grid_a[g * count + first]);
      take_in(to[1], &now.output_grid_s[g * count + first]);
    }
    if (shape.screens > 0) {
      Slot<W>* const to = &slot[tape.screen_in];
      take_in(to[0], &now.screen.screen_a[first]);
      take_in(to[1], &now.screen.plate_per_screen_s[first]);
      take_in(to[2], &now.screen.screen_per_grid_s[first]);
      take_in(to[3], &now.screen.screen_per_plate_s[first]);
      take_in(to[4], &now.screen.screen_per_screen_s[first]);
    }

    run<W>(begin, begin + tape.filled_in, at.numbers_, now.still, weight, slot, mean);
    for (const std::uint16_t node : tape.residual) {
      double f[W];
      std::memcpy(f, slot[node], sizeof f);
      for (int i = 0; i < W; i += kLanes)
        for (int lane = 0; lane < kLanes; ++lane) {
          const double size = std::fabs(f[i + lane]);
          largest[lane] = size > largest[lane] ? size : largest[lane];
          check[lane] += size * 0.0;
        }
    }
    run<W>(begin + tape.filled_in, begin + tape.step.size(), at.numbers_, now.still, weight, slot, mean);
    for (int r = 0; r < locals; ++r)
      std::memcpy(&at.red_[r][still][first], slot[tape.residual[r]], sizeof(Slot<W>));
    for (const Tape::Column& c : tape.columns)
      std::memcpy(&at.red_[c.node][c.still][first], slot[c.slot], sizeof(Slot<W>));
  }
  const auto whole = [&](int m) ANTIPHASE_INTO_CALLER {
    double part[kLanes];
    std::memcpy(part, &mean[m], sizeof part);
    return newton::whole(part);
  };

  // The border, as in newton::pass.
  double residual_0 = state.y[0] - drive.value;
  double* const top = at.border_[0];
  for (int c = 0; c < still + 2; ++c) top[c] = c == 0 ? 1 : 0;
  if (drive.per) {
    const int k = drive.instant;
    residual_0 = -drive.value;
    for (int c = 0; c < still; ++c) {
      top[c] = drive.per[locals + c] * (c == 0 ? instants.cosine[k] : 1.0);
      residual_0 += top[c] * state.y[c];
    }
    for (int r = 0; r < locals; ++r) {
      residual_0 += drive.per[r] * state.x[r][k];
      top[still] += drive.per[r] * at.red_[r][still][k];
    }
    for (const Tape::Column& c : tape.columns)
      top[c.still] -= drive.per[c.node] * at.red_[c.node][c.still][k];
  } else if (drive.output >= 0) {
    residual_0 = along(state.x[drive.output].data()) - drive.value;
    top[0] = 0;
    for (const Tape::Column& c : tape.columns)
      if (c.node == drive.output) top[c.still] = -along(at.red_[c.node][c.still]);
    top[still] = along(at.red_[drive.output][still]);
  }
  top[still] -= residual_0;
  top[still + 1] = 1;
  double worst = std::fabs(residual_0), sum = worst * 0.0;
  for (int b = 1; b < still; ++b) {
    const double mean_of_g = whole(tape.mean_of_g[b]);
    worst = newton::larger(worst, std::fabs(mean_of_g));
    sum += mean_of_g * 0.0;
    for (int c = 0; c <= still; ++c) {
      const int m = tape.border[static_cast<std::size_t>(b * (still + 1) + c)];
      at.border_[b][c] = m < 0 ? 0 : whole(m);
    }
    at.border_[b][still] -= mean_of_g;
    at.border_[b][still + 1] = 0;
  }
  for (int lane = 0; lane < kLanes; ++lane) {
    worst = newton::larger(worst, newton::kVoltsPerAmpere * largest[lane]);
    sum += check[lane];
  }
  return sum == 0 ? worst : std::numeric_limits<double>::infinity();
}

template <int W>
ANTIPHASE_INLINE double TapeSolver::Steps<W>::make_step() {
  const int locals = at.shape_.locals, still = at.shape_.still;
  solve_small(still, 2, at.border_);
  for (int b = 0; b < still; ++b) {
    at.step_y_[b] = at.border_[b][still];
    at.tangent_[b] = at.border_[b][still + 1];
  }
  for (int r = 0; r < locals; ++r)
    for (int k = 0; k < count; ++k) at.step_[r][k] = -at.red_[r][still][k];
  for (const Tape::Column& c : at.tape_.columns) {
    const double dy = at.step_y_[c.still];
    for (int k = 0; k < count; ++k) at.step_[c.node][k] -= at.red_[c.node][c.still][k] * dy;
  }
  double largest = 0, sum = 0;
  for (int b = 0; b < still; ++b) {
    largest = newton::larger(largest, std::fabs(at.step_y_[b]));
    sum += at.step_y_[b] * 0.0;
  }
  for (int r = 0; r < locals; ++r)
    for (int k = 0; k < count; ++k) {
      const double size = std::fabs(at.step_[r][k]);
      largest = newton::larger(largest, size);
      sum += size * 0.0;
    }
  return sum == 0 ? largest : std::numeric_limits<double>::infinity();
}

ANTIPHASE_INLINE void TapeSolver::volts(const std::array<signed char, Shape::kMost>& per, double constant,
                                        const Instants& instants, const CycleState& state, int count,
                                        double* out) const {
  const int locals = shape_.locals;
  for (int b = 1; b < shape_.still; ++b)
    if (per[locals + b] != 0) constant += per[locals + b] * state.y[b];
  for (int k = 0; k < count; ++k) out[k] = constant;
  for (int j = 0; j < locals; ++j)
    if (per[j] != 0)
      for (int k = 0; k < count; ++k) out[k] += per[j] * state.x[j][k];
  if (per[locals] != 0)
    for (int k = 0; k < count; ++k) out[k] += per[locals] * state.y[0] * instants.cosine[k];
}

ANTIPHASE_INLINE void TapeSolver::sweep(const Instants& instants, const CycleState& state, int n,
                                        Currents& out) const {
  const int all = shape_.unknowns(), locals = shape_.locals;
  for (int r = 0; r < all; ++r) {
    double sum = numbers_.linear[r][all];
    for (int b = 1; b < shape_.still; ++b)
      if (shape_.linear[r][locals + b]) sum += numbers_.linear[r][locals + b] * state.y[b];
    out.still[r] = sum;
  }
  for (int t = 0; t < shape_.sections; ++t) {
    SectionRows& rows = out.at[t / 2];
    volts(shape_.grid_per[t], numbers_.grid_v[t], instants, state, n, &rows.grid_v[t % 2 * n]);
    volts(shape_.plate_per[t], numbers_.plate_v[t], instants, state, n, &rows.plate_v[t % 2 * n]);
  }
  for (int pair = 0; 2 * pair < shape_.triodes(); ++pair)
    if (2 * pair + 1 < shape_.triodes())
      sweep_sections<2>(section_[pair], n, out.at[pair]);
    else
      sweep_sections<1>(section_[pair], n, out.at[pair]);
  if (shape_.screens > 0) sweep_pentode(instants, state, n, out);
  for (int k = 0; k < shape_.grids * n; ++k) out.output_grid_a[k] = out.output_grid_s[k] = 0;
  if (shape_.grids == 0 || !output_grid_.conducts()) return;
  alignas(64) Row v;
  for (int g = 0; g < shape_.grids; ++g)
    volts(shape_.output_grid_per[g], numbers_.output_grid_v[g], instants, state, n, &v[g * n]);
  add_grid_diode(output_grid_, v.data(), shape_.grids * n, out.output_grid_a.data(),
                 out.output_grid_s.data());
}

/// The last section, whose screen counts too.
void TapeSolver::sweep_pentode(const Instants& instants, const CycleState& state, int n,
                               Currents& out) const {
  const int t = shape_.sections - 1, first = t % 2 * n;
  const TriodeSection& section = section_[t / 2][t % 2];
  SectionRows& rows = out.at[t / 2];
  Row screen_v;
  volts(shape_.screen_per, numbers_.screen_v, instants, state, n, screen_v.data());
  for (int k = 0; k < n; ++k) {
    const TriodeCurrents now =
        section.currents_at(rows.grid_v[first + k], rows.plate_v[first + k], screen_v[k]);
    rows.rows.plate_a[first + k] = now.plate_a;
    rows.rows.plate_per_grid_s[first + k] = now.plate_per_grid_s;
    rows.rows.plate_per_plate_s[first + k] = now.plate_per_plate_s;
    rows.rows.grid_a[first + k] = now.grid_a;
    rows.rows.grid_per_grid_s[first + k] = now.grid_per_grid_s;
    out.screen.plate_per_screen_s[k] = now.plate_per_screen_s;
    out.screen.screen_a[k] = now.screen_a;
    out.screen.screen_per_grid_s[k] = now.screen_per_grid_s;
    out.screen.screen_per_plate_s[k] = now.screen_per_plate_s;
    out.screen.screen_per_screen_s[k] = now.screen_per_screen_s;
  }
}

ANTIPHASE_WIDE NewtonEnd TapeSolver::solve_cycle(const Instants& instants, const DriveCondition& drive,
                                                 CycleState& state, int& steps) {
  CycleState kept;
  Steps<kBlock> at{*this, instants, drive, state, kept, instants.count};
  return newton::iterate(at, drive.settled_step_v, steps);
}

NewtonEnd TapeSolver::solve(const Instants& instants, const DriveCondition& drive, CycleState& state,
                            int& steps) {
  if (instants.count != 1) return solve_cycle(instants, drive, state, steps);
  CycleState kept;
  Steps<1> at{*this, instants, drive, state, kept, 1};
  return newton::iterate(at, drive.settled_step_v, steps);
}

void TapeSolver::predict(const Instants& instants, double change, CycleState& state) const {
  for (int b = 0; b < shape_.still; ++b) state.y[b] += tangent_[b] * change;
  auto column = tape_.columns.begin();
  for (int r = 0; r < shape_.locals; ++r) {
    double by[kFineInstants] = {};
    for (; column != tape_.columns.end() && column->node == r; ++column)
      for (int k = 0; k < instants.count; ++k) by[k] -= red_[r][column->still][k] * tangent_[column->still];
    for (int k = 0; k < instants.count; ++k) state.x[r][k] += by[k] * change;
  }
}

namespace {

/// What surroundings and cathode resistors a form of a circuit may be wanted for.
Held held_by(const Design& d, const Circuit& c, Surroundings around) {
  const bool real = around == Surroundings::real;
  Held held{.source = real, .dropping = real, .decoupling = real, .output_grids = real};
  for (const Element& e : c)
    if (e.role == Role::cathode_unbypassed && e.value(d) > 0)
      (e.member == &member::first_stage_cathode_unbypassed_ohm          ? held.first_unbypassed
       : e.member == &member::first_stage_second_cathode_unbypassed_ohm ? held.second_unbypassed
                                                                        : held.unbypassed) = true;
  return held;
}
int number_of(Held held) {
  return (held.second_unbypassed ? 8 : 0) + (held.source ? 4 : 0) + (held.unbypassed ? 2 : 0) +
         (held.first_unbypassed ? 1 : 0);
}

const TapedForm& taped_form(const Design& d, Surroundings around) {
  constexpr int kSurroundings = 16;
  static std::atomic<const TapedForm*> known[kCircuitKinds][kForms][kSurroundings];
  const CircuitEntry& entry = circuit(d.circuit);
  Form form;
  form.driver = d.driver.form;
  if (has_first_stage(d)) form.gain = d.first_stage.form;
  if (!entry.bias_forms.empty()) form.bias = d.bias.form;
  if (!entry.tail_forms.empty()) form.tail = d.tail.form;
  const Circuit& list = circuit_of(d.circuit, form_number(form));
  const Held held = held_by(d, list, around);
  std::atomic<const TapedForm*>& place =
      known[static_cast<int>(d.circuit)][form_number(form)][number_of(held)];
  return made_once(place, [&] { return TapedForm(list, held); });
}

}  // namespace

CycleSolver& make_tape_solver(const Design& design, const SolverWanted& wanted, SolverRoom& room,
                              RestGuess guess) {
  static_assert(sizeof(TapeSolver) <= SolverRoom::kBytes && alignof(TapeSolver) <= alignof(SolverRoom));
  return *new (room.bytes)
      TapeSolver(taped_form(design, wanted.around), design, guess, wanted.instants, wanted.output_grids);
}

}  // namespace antiphase
