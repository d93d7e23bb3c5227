#include "tests/reference/cases.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "tests/reference/random_designs.h"
#include "tests/reference/real_stage.h"

namespace antiphase::reference {
namespace {

constexpr double kLeastPlateCurrentA = 50e-6;  // below: cut off for our purposes
constexpr double kLeastPlateV = 10;            // plate to cathode
constexpr double kShareOfBias = 0.7;           // drive where there is no target

std::string laws_of(const Design& d) {
  std::string text = d.tube[0]->name;
  if (d.tube[1] && d.tube[1] != d.tube[0]) text += " + " + d.tube[1]->name;
  if (has_first_stage(d)) text += " behind " + d.first_stage.tube->name;
  return text;
}

struct Form {
  BiasForm bias;
  TailForm tail;
  const char* name;
};
constexpr std::array kForms{
    Form{BiasForm::self_biased, TailForm::resistor, "self-biased, resistor"},
    Form{BiasForm::self_biased, TailForm::constant_current, "self-biased, sink"},
    Form{BiasForm::direct_coupled, TailForm::resistor, "direct, resistor"},
    Form{BiasForm::direct_coupled, TailForm::constant_current, "direct, sink"},
    Form{BiasForm::negative_rail, TailForm::resistor, "rail, resistor"},
    Form{BiasForm::negative_rail, TailForm::constant_current, "rail, sink"},
};

/// Draws until `count` more work.
template <class DrawOne>
void add(Cases& cases, int count, const std::string& kind, DrawOne draw_one) {
  for (int n = 0; n < count;) {
    Case c;
    c.design = draw_one();
    if (!works_at_rest(c.design, c.rest)) {
      ++cases.rejected;
      continue;
    }
    c.name = kind + " no. " + std::to_string(++n) + ", " + laws_of(c.design);
    cases.all.push_back(std::move(c));
  }
}

}  // namespace

bool works_at_rest(const Design& design, Rest& rest) {
  try {
    rest = rest_point(design, drawing_of(design));
  } catch (const CircuitError&) {
    return false;
  }
  const bool two = design.circuit != CircuitKind::common_cathode && !is_split_load(design);
  if (has_first_stage(design)) {
    const SectionRest& f = rest.point.first;
    if (f.plate_current_a < kLeastPlateCurrentA || f.plate_to_cathode_v < kLeastPlateV ||
        f.grid_to_cathode_v > 0)
      return false;
  }
  for (const SectionRest& own : rest.point.driver)
    if (has_driver(design) && (own.plate_current_a < kLeastPlateCurrentA ||
                               own.plate_to_cathode_v < kLeastPlateV || own.grid_to_cathode_v > 0))
      return false;
  for (std::size_t i = 0; i < (two ? 2U : 1U); ++i) {
    if (rest.point.plate_current_a[i] < kLeastPlateCurrentA) return false;
    if (rest.point.plate_to_cathode_v[i] < kLeastPlateV || rest.point.grid_to_cathode_v[i] > 0) return false;
  }
  return !two || is_paraphase(design) || design.tail.form == TailForm::resistor ||
         rest.point.tail_v > design.tail.compliance_v;
}

bool Case::conducts_all_the_time() const {
  constexpr double kCutOffShare = 0.01;  // definition of the clean swing
  for (std::size_t i = 0; i < sections(); ++i) {
    if (fine.state.plate_current_low_a[i] < kCutOffShare * rest.point.plate_current_a[i]) return false;
  }
  if (has_first_stage(design) &&
      fine.state.first.plate_current_low_a < kCutOffShare * rest.point.first.plate_current_a)
    return false;
  for (std::size_t i = 0; i < 2 && has_driver(design); ++i)
    if (fine.state.driver[i].plate_current_low_a < kCutOffShare * rest.point.driver[i].plate_current_a)
      return false;
  return true;
}

bool Case::grid_conducts() const {
  for (std::size_t i = 0; i < sections(); ++i)
    if (fine.state.grid_to_cathode_peak_v[i] > design.tube[i]->grid_conduction_v.value) return true;
  for (const SectionState& own : fine.state.driver)
    if (has_driver(design) && own.grid_to_cathode_peak_v > design.driver.tube->grid_conduction_v.value)
      return true;
  return has_first_stage(design) &&
         fine.state.first.grid_to_cathode_peak_v > design.first_stage.tube->grid_conduction_v.value;
}

Independent independent_figures(const Design& design, double input_peak_v, int steps) {
  const Draw draw = drawing_of(design);
  const Rest rest = rest_point(design, draw);
  const SmallSignal small = small_signal(design, draw);
  const FrequencyFigures frequency = frequency_figures(design, rest);
  HeldStage stage(draw(Coupling::held), rest.capacitor_v);
  Cycle cycle = steady_state(design, stage, input_peak_v, steps, false);
  Independent out{
      {rest.point, small, cycle.state, frequency}, {}, std::max(rest.kirchhoff_a, cycle.kirchhoff_a)};
  cycle = steady_state(design, stage, input_peak_v, kFineSteps, false);
  out.fine = cycle.state;
  out.kirchhoff_a = std::max(out.kirchhoff_a, cycle.kirchhoff_a);
  return out;
}

int solver_steps(const Design& design, double input_peak_v) {
  Waveforms waveforms;
  steady_state_at_drive(design, input_peak_v, &waveforms);
  return waveforms.instants - 1;
}

void solve(Case& c) {
  evaluate(c.design, Depth::everything, c.evaluation);
  c.solver.frequency = c.evaluation.frequency;
  c.solver.rest = c.evaluation.operating_point;
  c.solver.small_signal = c.evaluation.small_signal;
  if (c.evaluation.at_target.solved == Solved::yes) {
    c.solver.state = c.evaluation.at_target;
    c.input_peak_v = c.evaluation.at_target.input_peak_v;
  } else {
    c.input_peak_v = kShareOfBias * std::abs(has_first_stage(c.design) ? c.rest.point.first.grid_to_cathode_v
                                                                       : c.rest.point.grid_to_cathode_v[0]);
    c.solver.state = steady_state_at_drive(c.design, c.input_peak_v, nullptr);
  }
}

void solve_cycles(Case& c) {
  HeldStage stage(stage_netlist(c.design, Coupling::held), c.rest.capacitor_v);
  const int steps = solver_steps(c.design, c.input_peak_v);
  c.independent.rest = c.fine.rest = c.rest.point;
  c.independent.state = steady_state(c.design, stage, c.input_peak_v, steps, false).state;
  c.fine.state = steady_state(c.design, stage, c.input_peak_v, kFineSteps, false).state;
}

void solve_independently(Case& c) {
  const Independent found =
      independent_figures(c.design, c.input_peak_v, solver_steps(c.design, c.input_peak_v));
  c.independent = c.fine = found.figures;
  c.fine.state = found.fine;
  c.kirchhoff_a = found.kirchhoff_a;
}

Cases draw_pairs(std::uint64_t seed, int each) {
  Draws draws(seed);
  Cases cases;
  for (const Form& form : kForms) {
    add(cases, each, form.name, [&] { return random_pair(draws, form.bias, form.tail); });
  }
  return cases;
}

Cases draw_gain_stages(std::uint64_t seed, int count) {
  Draws draws(seed);
  Cases cases;
  const std::array names{"bypassed", "partly bypassed", "unbypassed"};
  const std::array bypasses{Bypass::whole, Bypass::part, Bypass::none};
  for (std::size_t b = 0; b < bypasses.size(); ++b) {
    add(cases, count / 3, names[b], [&] { return random_gain_stage(draws, bypasses[b]); });
  }
  return cases;
}

Cases draw_chains(std::uint64_t seed, int each) {
  Draws draws(seed);
  Cases cases;
  const std::array bypasses{Bypass::whole, Bypass::part, Bypass::none};
  std::size_t turn = 0;
  for (const Form& form : kForms) {
    add(cases, each, std::string("chain, ") + form.name,
        [&] { return random_chain(draws, form.bias, form.tail, bypasses[turn++ % bypasses.size()]); });
  }
  return cases;
}

Cases draw_split_load_chains(std::uint64_t seed, int each) {
  Draws draws(seed);
  Cases cases;
  const std::array bypasses{Bypass::whole, Bypass::part, Bypass::none};
  std::size_t turn = 0;
  for (const BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled})
    add(cases, each,
        bias == BiasForm::self_biased ? "gain stage, split load" : "gain stage, direct split load",
        [&] { return random_split_load_chain(draws, bias, bypasses[turn++ % bypasses.size()]); });
  return cases;
}

Cases draw_paraphases(std::uint64_t seed, int each, bool floating, bool behind_first_stage) {
  Draws draws(seed);
  Cases cases;
  const std::array names{"bypassed", "partly bypassed", "unbypassed"};
  const std::array bypasses{Bypass::whole, Bypass::part, Bypass::none};
  const std::string kind = std::string(behind_first_stage ? "gain stage, " : "") +
                           (floating ? "floating paraphase, " : "paraphase, ");
  for (std::size_t b = 0; b < bypasses.size(); ++b)
    add(cases, each, kind + names[b],
        [&] { return random_paraphase(draws, bypasses[b], floating, behind_first_stage); });
  return cases;
}

Cases draw_followers(std::uint64_t seed, int each) {
  Draws draws(seed);
  Cases cases;
  for (const bool split_load : {false, true})
    add(cases, each, std::string(split_load ? "split load" : "pair") + ", followers",
        [&] { return random_driven(draws, split_load, DriverForm::cathode_followers); });
  return cases;
}

Cases draw_split_loads(std::uint64_t seed, int each) {
  Draws draws(seed);
  Cases cases;
  add(cases, each, "split load, self-biased",
      [&] { return random_split_load(draws, BiasForm::self_biased); });
  add(cases, each, "split load, direct", [&] { return random_split_load(draws, BiasForm::direct_coupled); });
  return cases;
}

std::string drawing_text(const Case& c) {
  return c.name + "\n" + text_of(stage_netlist(c.design, Coupling::capacitors).lines);
}

}  // namespace antiphase::reference
