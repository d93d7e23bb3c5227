#include "stagemodels/circuits/shaped_cycle.h"

#include <algorithm>
#include <cassert>

#include "stagemodels/circuits/places.h"
#include "stagemodels/circuits/section_rows.h"

namespace antiphase {
namespace {

/// Of a section that is not the splitter's.
SectionWaveforms& own_rows(Waveforms& w, int number) {
  return number == kFirstStage ? w.first : number == kGainSecond ? w.second : w.driver[number - kDriver];
}
bool of_splitter(int number) {
  return number < kSplitterSections;
}

/// The rows of a section in what is told of a cycle.
Row& plate_v(Waveforms& w, int number) {
  return of_splitter(number) ? w.plate_v[number] : own_rows(w, number).plate_v;
}
Row& grid_to_cathode_v(Waveforms& w, int number) {
  return of_splitter(number) ? w.grid_to_cathode_v[number] : own_rows(w, number).grid_to_cathode_v;
}
Row& cathode_v(Waveforms& w, int number) {
  return of_splitter(number) ? w.cathode_v : own_rows(w, number).cathode_v;
}
Row& grid_current_a(Waveforms& w, int number) {
  return of_splitter(number) ? w.grid_current_a[number] : own_rows(w, number).grid_current_a;
}
Row& plate_current_a(Waveforms& w, int number) {
  return of_splitter(number) ? w.plate_current_a[number] : own_rows(w, number).plate_current_a;
}

}  // namespace

ShapedCycle::ShapedCycle(const Shape& shape, const Assembly& assembly, const Design& design, RestGuess guess,
                         int instants, bool output_grids)
    : shape_(shape), assembly_(assembly), design_(design), guess_(guess) {
  assert(!output_grids || shape.grids > 0);
  assembly.fill(design, numbers_);
  for (int t = 0; t < shape.sections; ++t) section_[t / 2][t % 2] = section_numbered(design, shape.number[t]);
  if (shape.sections % 2 == 1) section_[shape.sections / 2][1] = section_[shape.sections / 2][0];
  if (output_grids && design.output_valve) output_grid_ = design.output_valve->grid;
  tell_form(instants);
}

void ShapedCycle::tell_form(int instants) {
  const Circuit& c = assembly_.circuit();
  const Unknowns& u = assembly_.unknowns();
  const auto row_of = [&](int node) {
    const int column = u.column[u.root[node]];
    return column < shape_.locals ? column : -1;
  };
  form_.nodes = shape_.locals;
  form_.still = shape_.still;
  form_.outputs = shape_.outputs;
  form_.instants = instants;
  form_.output_row = shape_.output_row;
  for (int o = 0; o < c.outputs; ++o) form_.sign[o] = c.output[o].sign;
  for (int t = 0; t < shape_.sections; ++t) {
    form_.sections += of_splitter(shape_.number[t]) ? 1 : 0;
    form_.has[shape_.number[t]] = true;
  }
  form_.first_stage = form_.has[kFirstStage];
  form_.driver = form_.has[kDriver];
  form_.driven_section = form_.first_stage ? kFirstStage : 0;
  const Element& driven = *c.section(form_.driven_section);
  form_.driven_grid_row = row_of(driven.b);
  form_.driven_cathode_row = row_of(driven.c);
  if (form_.first_stage) form_.first_output_row = row_of(c.first_output);
}

void ShapedCycle::volts(const Factors& per, double constant, const Instants& instants,
                        const CycleState& state, int count, Row& out) const {
  const int locals = shape_.locals;
  for (int b = 1; b < shape_.still; ++b)
    if (per[locals + b] != 0) constant += per[locals + b] * state.y[b];
  for (int k = 0; k < count; ++k) out[k] = constant;
  for (int j = 0; j < locals; ++j) {
    const auto& x = state.x[j];
    if (per[j] > 0)
      for (int k = 0; k < count; ++k) out[k] += x[k];
    else if (per[j] < 0)
      for (int k = 0; k < count; ++k) out[k] -= x[k];
  }
  if (per[locals] != 0) {
    const double drive = per[locals] * state.y[0];
    for (int k = 0; k < count; ++k) out[k] += drive * instants.cosine[k];
  }
}

DriveCondition ShapedCycle::grid_to_cathode_at(int number, int instant, double wanted_v) const {
  const auto t = static_cast<std::size_t>(
      std::find(shape_.number.begin(), shape_.number.begin() + shape_.sections, number) -
      shape_.number.begin());
  assert(t < static_cast<std::size_t>(shape_.sections));
  return {.value = wanted_v - numbers_.grid_v[t], .per = shape_.grid_per[t].data(), .instant = instant};
}

void ShapedCycle::describe_sections(const Instants& instants, const CycleState& state, Waveforms& out) const {
  out.instants = instants.count;
  describe_voltages(instants, state, out);
  output_grid_currents(instants, state, out);
  for (int t = 0; t < shape_.sections; ++t) plate_current(t, instants, state, out);
}

void ShapedCycle::describe(const Instants& instants, const CycleState& state, Waveforms& out) const {
  describe_sections(instants, state, out);
  out.drive = instants.cosine;
  if (shape_.screens > 0) describe_screen(instants, state, out);
  describe_tail(instants, state, out);
  if (form_.first_stage && design_.first_stage.form != GainForm::triode)
    describe_first_stage(instants, state, out);
}

void ShapedCycle::describe_voltages(const Instants& instants, const CycleState& state, Waveforms& out) const {
  const int n = instants.count;
  Row supply;
  volts(shape_.supply_v, numbers_.supply_to_ground_v, instants, state, 1, supply);
  out.supply_v = supply[0];
  for (int t = 0; t < shape_.sections; ++t) {
    const int number = shape_.number[t];
    volts(shape_.plate_v[t], numbers_.plate_to_ground_v[t], instants, state, n, plate_v(out, number));
    Row& grid_v = grid_to_cathode_v(out, number);
    volts(shape_.grid_per[t], numbers_.grid_v[t], instants, state, n, grid_v);
    if (number != 1)
      volts(shape_.cathode_v[t], numbers_.cathode_to_ground_v[t], instants, state, n, cathode_v(out, number));
    grid_current(t, instants, state, grid_v, grid_current_a(out, number));
  }
  for (int o = 0; o < shape_.outputs; ++o)
    volts(shape_.output_v[o], numbers_.output_to_ground_v[o], instants, state, n, out.output_v[o]);
}

void ShapedCycle::grid_current(int t, const Instants& instants, const CycleState& state,
                               const Row& grid_to_cathode_v, Row& out) const {
  const int n = instants.count;
  const TriodeSection& of = section(t);
  std::fill_n(out.begin(), n, 0.0);
  if (of.grid_silent_at(*std::max_element(grid_to_cathode_v.begin(), grid_to_cathode_v.begin() + n))) return;
  TriodeRows rows;
  if (has_grid_current(*of.law)) {
    alignas(64) Row across_v{};
    volts(shape_.plate_per[t], numbers_.plate_v[t], instants, state, n, across_v);
    const double per_mu = 1 / of.spread.mu;
    for (int k = 0; k < n; ++k) across_v[k] *= per_mu;
    std::visit([&](const auto& l) { l.currents(grid_to_cathode_v.data(), across_v.data(), n, rows); },
               *of.law);
    std::copy_n(rows.grid_a.begin(), n, out.begin());
  } else {
    std::fill_n(rows.grid_per_grid_s.begin(), n, 0.0);
    of.tube->grid_diode.add(grid_to_cathode_v.data(), n, out.data(), rows.grid_per_grid_s.data());
  }
}

void ShapedCycle::output_grid_currents(const Instants& instants, const CycleState& state,
                                       Waveforms& out) const {
  const int n = instants.count;
  for (int o = 0; o < shape_.outputs; ++o) std::fill_n(out.output_grid_a[o].begin(), n, 0.0);
  if (!output_grid_.conducts()) return;
  for (int o = 0; o < shape_.grids; ++o) {
    alignas(64) Row across_v{}, slopes;
    volts(shape_.output_grid_per[o], numbers_.output_grid_v[o], instants, state, n, across_v);
    std::fill_n(slopes.begin(), n, 0.0);
    add_grid_diode(output_grid_, across_v.data(), n, out.output_grid_a[o].data(), slopes.data());
  }
}

void ShapedCycle::plate_current(int t, const Instants& instants, const CycleState& state,
                                Waveforms& out) const {
  const int n = instants.count, locals = shape_.locals, r = shape_.plate_row[t];
  assert(r >= 0 && shape_.plate_in[t][r] != 0);
  Row& a = plate_current_a(out, shape_.number[t]);
  double still = numbers_.linear[r][shape_.unknowns()];
  for (int b = 1; b < shape_.still; ++b) still += numbers_.linear[r][locals + b] * state.y[b];
  const double drive = numbers_.linear[r][locals] * state.y[0];
  for (int k = 0; k < n; ++k) a[k] = still + drive * instants.cosine[k];
  for (int j = 0; j < locals; ++j)
    if (const double by = numbers_.linear[r][j]; by != 0)
      for (int k = 0; k < n; ++k) a[k] += by * state.x[j][k];
  // Another plate's current in the same row is known: its section comes before (kSectionOrder).
  for (int s = 0; s < t; ++s)
    if (const int by = shape_.plate_in[s][r]; by != 0) {
      const Row& plate_a = plate_current_a(out, shape_.number[s]);
      for (int k = 0; k < n; ++k) a[k] -= by * plate_a[k];
    }
  for (int s = 0; s < shape_.sections; ++s) {
    const Row& grid_a = grid_current_a(out, shape_.number[s]);
    if (const int by = shape_.grid_in[s][r]; by != 0)
      for (int k = 0; k < n; ++k) a[k] -= by * grid_a[k];
  }
  for (int g = 0; g < shape_.grids; ++g)
    if (const int by = shape_.output_grid_in[g][r]; by != 0)
      for (int k = 0; k < n; ++k) a[k] -= by * out.output_grid_a[g][k];
  if (shape_.plate_in[t][r] < 0)  // at the cathode, where the plate's current comes in
    for (int k = 0; k < n; ++k) a[k] = -a[k];
}

void ShapedCycle::describe_screen(const Instants& instants, const CycleState& state, Waveforms& out) const {
  const int t = shape_.sections - 1;
  SectionWaveforms& own = own_rows(out, shape_.number[t]);
  volts(shape_.screen_per, numbers_.screen_v, instants, state, instants.count, own.screen_to_cathode_v);
  for (int k = 0; k < instants.count; ++k)
    own.screen_current_a[k] = section(t)
                                  .currents_at(own.grid_to_cathode_v[k], own.plate_v[k] - own.cathode_v[k],
                                               own.screen_to_cathode_v[k])
                                  .screen_a;
}

void ShapedCycle::across(Node a, Node b, const Instants& instants, const CycleState& state, Row& out) const {
  const int locals = shape_.locals, all = shape_.unknowns();
  double top[Coefficients::kMost + 1], foot[Coefficients::kMost + 1];
  assembly_.node(numbers_, a, top);
  assembly_.node(numbers_, b, foot);
  for (int j = 0; j <= all; ++j) top[j] -= foot[j];
  double still = top[all];
  for (int y = 1; y < shape_.still; ++y) still += top[locals + y] * state.y[y];
  const double drive = top[locals] * state.y[0];
  for (int k = 0; k < instants.count; ++k) out[k] = still + drive * instants.cosine[k];
  for (int j = 0; j < locals; ++j)
    if (top[j] != 0)
      for (int k = 0; k < instants.count; ++k) out[k] += top[j] * state.x[j][k];
}

void ShapedCycle::describe_tail(const Instants& instants, const CycleState& state, Waveforms& out) const {
  across(assembly_.circuit().tail_top, assembly_.circuit().tail_foot, instants, state, out.tail_v);
}

void ShapedCycle::describe_first_stage(const Instants& instants, const CycleState& state,
                                       Waveforms& out) const {
  const int n = instants.count;
  Row& sum_a = out.first_stage_a;
  std::fill_n(sum_a.begin(), n, 0.0);
  const Node from = assembly_.circuit().first_supply;
  for (const Element& e : assembly_.circuit()) {
    if (e.a != from) continue;
    if (e.kind == ElementKind::resistor) {
      Row volts;
      across(e.a, e.b, instants, state, volts);
      for (int k = 0; k < n; ++k) sum_a[k] += volts[k] / e.value(design_);
    } else if (e.kind == ElementKind::sink || e.kind == ElementKind::triode) {
      for (int k = 0; k < n; ++k)
        sum_a[k] += e.kind == ElementKind::sink ? e.value(design_) : plate_current_a(out, e.section)[k];
    }
  }
}

void ShapedCycle::linearise(const SectionCurrents& at_rest, LinearisedCycle& out) const {
  const int locals = shape_.locals;
  const auto entry = [&](int r, int j) {
    double s = numbers_.linear[r][j];
    for (int t = 0; t < shape_.sections; ++t) {
      const TriodeCurrents& now = at_rest[shape_.number[t]];
      s -= shape_.plate_in[t][r] * (shape_.grid_per[t][j] * now.plate_per_grid_s +
                                    shape_.plate_per[t][j] * now.plate_per_plate_s) +
           shape_.grid_in[t][r] * shape_.grid_per[t][j] * now.grid_per_grid_s;
    }
    if (shape_.screens > 0) {
      const int t = shape_.sections - 1;
      const TriodeCurrents& now = at_rest[shape_.number[t]];
      s -= shape_.plate_in[t][r] * shape_.screen_per[j] * now.plate_per_screen_s +
           shape_.screen_in[r] * (shape_.grid_per[t][j] * now.screen_per_grid_s +
                                  shape_.plate_per[t][j] * now.screen_per_plate_s +
                                  shape_.screen_per[j] * now.screen_per_screen_s);
    }
    return s;
  };
  out.nodes = locals;
  for (int r = 0; r < locals; ++r) {
    out.by_source[r] = entry(r, locals);  // the column of the drive is that of the source
    for (int j = 0; j < locals; ++j) out.by_node[r][j] = entry(r, j);
  }
}

bool ShapedCycle::start_rest(bool exactly, CycleState& rest) const {
  const Circuit& c = assembly_.circuit();
  const Unknowns& u = assembly_.unknowns();
  NodeVolts v{};
  if (exactly) {
    if (!solve_rest_point(circuit_of(design_), design_, {}, v)) return false;
  } else if (!guess_(c, design_, v) || (form_.driver && !guess_driver(c, design_, v))) {
    return false;
  }
  for (int n = 0; n < c.nodes; ++n)
    if (u.root[n] == n && u.column[n] >= 0 && u.column[n] < shape_.locals) rest.x[u.column[n]][0] = v[n];
  rest.y[0] = 0;
  for (int b = 1; b < shape_.still; ++b) {
    const Element& e = c.element[u.capacitor[b]];
    rest.y[b] = v[e.a] - v[far_end(c, e)];
  }
  return true;
}

double ShapedCycle::leak_foot_v(const CycleState& rest) const {
  const int locals = shape_.locals;
  double row[Coefficients::kMost + 1];
  assembly_.node(numbers_, assembly_.circuit().leak_foot, row);
  double v = row[shape_.unknowns()];
  for (int j = 0; j < locals; ++j) v += row[j] * rest.x[j][0];
  for (int b = 1; b < shape_.still; ++b) v += row[locals + b] * rest.y[b];
  return v;
}

double ShapedCycle::leak_siemens(const std::array<double, CycleState::kMostNodes>& signal) const {
  const auto signal_at = [&](int node) {
    double row[Coefficients::kMost + 1];
    assembly_.node(numbers_, node, row);
    double v = row[shape_.locals];
    for (int j = 0; j < shape_.locals; ++j) v += row[j] * signal[j];
    return v;
  };
  const double on_grid = signal_at(assembly_.driven_grid());
  double taken_a = 0;
  for (const Assembly::Leak& leak : assembly_.driven_leaks())
    taken_a += (on_grid - signal_at(leak.foot)) / leak.member->value(design_);
  return taken_a / on_grid;
}

}  // namespace antiphase
