#include "objectives/builds/faulty_parts.h"

#include <algorithm>

#include "objectives/builds/build_model.h"
#include "objectives/builds/gain_without.h"
#include "stagemodels/evaluate.h"

namespace antiphase {
namespace {

using What = Alteration::What;

/// The gain stage ahead of the output stage is told after it.
enum class Stage { any, output, ahead };

/// A defect that elements of a role can have.
struct CanHave {
  Role role;
  What what;
  Stage stage = Stage::output;
  bool seen_in_ac_only = false;
};

/// In the order in which they are told.
constexpr std::array kTable{
    CanHave{Role::plate_load, What::open},
    CanHave{Role::cathode_load, What::open},
    CanHave{Role::tail, What::open},
    CanHave{Role::tail, What::shorted},
    CanHave{Role::bias, What::open},
    CanHave{Role::bias, What::shorted},
    CanHave{Role::cathode, What::open},
    CanHave{Role::cathode_bypass, What::shorted},
    CanHave{Role::section, What::dead},
    CanHave{Role::input_coupling, What::leaks, Stage::any},
    CanHave{Role::output_coupling, What::leaks},
    CanHave{Role::grid_bypass, What::shorted},
    CanHave{Role::driver_cathode, What::open},
    CanHave{Role::driver_load, What::open},
    CanHave{Role::driver_coupling, What::leaks},
    CanHave{Role::plate_load, What::open, Stage::ahead},
    CanHave{Role::cathode, What::open, Stage::ahead},
    CanHave{Role::cathode_bypass, What::shorted, Stage::ahead},
    CanHave{Role::section, What::dead, Stage::ahead},
    CanHave{Role::bias, What::open, Stage::ahead},
    CanHave{Role::bias, What::shorted, Stage::ahead},
    CanHave{Role::grid_feed, What::open, Stage::ahead},
    CanHave{Role::grid_bypass, What::shorted, Stage::ahead},
    CanHave{Role::inner_coupling, What::leaks, Stage::any},
    CanHave{Role::coupling_between, What::leaks, Stage::any},
    CanHave{Role::output_coupling, What::open, Stage::any, true},
    CanHave{Role::grid_bypass, What::open, Stage::any, true},
    CanHave{Role::cathode_bypass, What::open, Stage::output, true},
    CanHave{Role::cathode_bypass, What::open, Stage::ahead, true},
    CanHave{Role::inner_coupling, What::open, Stage::any, true},
    CanHave{Role::coupling_between, What::open, Stage::any, true},
    CanHave{Role::divider, What::open, Stage::any, true},
};

std::string_view word_of(What what) {
  switch (what) {
    case What::open:
      return "open";
    case What::shorted:
      return "shorted";
    case What::leaks:
      return "leaks";
    case What::dead:
      return "dead";
    case What::scaled:
    case What::set:
    case What::gone:
      break;
  }
  return "";
}

const Element& element(const Circuit& c, int k) {
  return c.element[k];
}

/// A circuit lists the parts of a stage after its tube.
bool in_stage(const Circuit& c, int k, Stage stage) {
  if (stage == Stage::any) return true;
  bool ahead = false;
  for (int i = 0; i <= k; ++i)
    if (const Element& e = element(c, i); e.kind == ElementKind::triode)
      ahead = e.section == kFirstStage || e.section == kGainSecond;
  return ahead == (stage == Stage::ahead);
}

bool has_sink(const Circuit& c) {
  return std::any_of(c.begin(), c.end(), [](const Element& e) { return e.kind == ElementKind::sink; });
}

/// A resistance that stands for what a sink is not: no part by itself.
bool belongs_to_sink(const Circuit& c, const Element& e) {
  return e.kind == ElementKind::resistor && std::any_of(c.begin(), c.end(), [&](const Element& other) {
           return other.kind == ElementKind::sink && other.a == e.a && other.b == e.b;
         });
}

/// The part of a cathode resistor that stands where the other one is nothing: -1 if neither does.
int standing_part(const Circuit& c, const Design& d, int bypassed, Stage stage) {
  if (element(c, bypassed).stands(d)) return bypassed;
  for (int k = 0; k < c.elements; ++k)
    if (element(c, k).role == Role::cathode_unbypassed && in_stage(c, k, stage) && element(c, k).stands(d))
      return k;
  return -1;
}

/// Where an element can have a defect, what that alters; nothing where it cannot.
std::optional<Defect> defect_of(const Circuit& c, const Design& d, int k, const CanHave& row) {
  const Element& e = element(c, k);
  if (e.role != row.role || !in_stage(c, k, row.stage)) return std::nullopt;
  const int part = e.role == Role::cathode ? standing_part(c, d, k, row.stage) : k;
  if (part < 0 || !element(c, part).stands(d) || belongs_to_sink(c, e)) return std::nullopt;
  if (e.kind == ElementKind::sink && row.what == What::shorted) return std::nullopt;  // it is no part
  // A sink without current is saturated, which its Norton form is not.
  if (e.role == Role::bias && row.what == What::open && has_sink(c)) return std::nullopt;
  if (e.role == Role::input_coupling && grids_given(d)) return std::nullopt;

  Defect defect;
  defect.element = part;
  defect.seen_in_ac_only = row.seen_in_ac_only;
  const std::string_view word = word_of(row.what);
  if (e.role == Role::grid_bypass && row.what == What::shorted) {
    constexpr std::string_view kBypass = "_bypass";
    defect.name = e.name.substr(0, e.name.size() - kBypass.size());
    defect.name += "_to_ground";
  } else {
    defect.name = std::string(e.name) + "_" + std::string(word);
  }
  defect.label = std::string(e.label) + " " + std::string(word);
  if (row.seen_in_ac_only) return defect;

  defect.alter({part, row.what, 1});
  for (int i = 0; i < c.elements; ++i) {
    const Element& other = element(c, i);
    // With a sink its resistance goes, and the source stands where the plate before does.
    if (e.kind == ElementKind::sink && belongs_to_sink(c, other) && other.a == e.a)
      defect.alter({i, row.what, 1});
    if (e.role == Role::input_coupling && other.kind == ElementKind::driven)
      defect.alter({i, What::set, cold_supply_v(d) / 2});
    if (e.role == Role::input_coupling && other.kind == ElementKind::resistor && other.role == Role::source &&
        other.stands(d))
      defect.alter({i, What::shorted, 1});
  }
  return defect;
}

std::optional<Defect> whole_tube_dead(const Circuit& c) {
  if (!c.section(1)) return std::nullopt;
  Defect both;
  both.name = "both_sections_dead";
  both.label = "both sections dead";
  for (int k = 0; k < c.elements; ++k)
    if (element(c, k).kind == ElementKind::triode && element(c, k).section < kSplitterSections)
      both.alter({k, What::dead, 1});
  return both;
}

bool dead(const Circuit& c, const Element& triode, const Defect& defect) {
  const auto altered = defect.altered();
  return std::any_of(altered.begin(), altered.end(), [&](const Alteration& a) {
    return a.what == What::dead && &element(c, a.element) == &triode;
  });
}

void describe(const Circuit& c, const Design& d, const Defect& defect, const NodeVolts& volts,
              DefectPoint& out) {
  const auto v = [&](Node n) { return volts[n]; };
  OperatingPoint& o = out.point;
  o.solved = Solved::yes;
  o.supply_v = v(c.supply);
  o.cathode_v = v(c.section(0)->c);
  o.leak_node_v = v(grids_given(d) ? c.input : c.leak_foot);
  o.tail_v = v(c.tail_top) - v(c.tail_foot);
  for (const Element& e : c) {
    if (e.kind != ElementKind::triode) continue;
    const double to_cathode = v(e.b) - v(e.c), across = v(e.a) - v(e.c);
    const TriodeCurrents i = dead(c, e, defect) ? TriodeCurrents{} : currents_of(section_of(d, e), e, volts);
    o.supply_current_a += i.plate_a + i.screen_a;
    if (e.section >= kSplitterSections) {
      SectionRest& own = own_rest(o, e.section);
      own.plate_v = v(e.a);
      own.cathode_v = v(e.c);
      own.grid_v = v(e.b);
      own.grid_to_cathode_v = to_cathode;
      own.plate_to_cathode_v = across;
      own.plate_current_a = i.plate_a;
      own.grid_current_a = i.grid_a;
      own.plate_dissipation_w = i.plate_a * across;
      if (e.screen != kNoNode) {
        own.screen_v = v(e.screen);
        own.screen_to_cathode_v = v(e.screen) - v(e.c);
        own.screen_current_a = i.screen_a;
        own.screen_dissipation_w = i.screen_a * own.screen_to_cathode_v;
      }
      continue;
    }
    const int n = e.section;
    o.plate_v[n] = v(e.a);
    o.grid_v[n] = v(e.b);
    o.grid_to_cathode_v[n] = to_cathode;
    o.plate_to_cathode_v[n] = across;
    o.plate_current_a[n] = i.plate_a;
    o.grid_current_a[n] = i.grid_a;
    o.plate_dissipation_w[n] = i.plate_a * across;
  }
  // What the tail carries is what the cathodes give and the grid leaks bring to its upper end.
  for (std::size_t i = 0; i < 2; ++i) o.tail_current_a += o.plate_current_a[i] + o.grid_current_a[i];
  for (const Element& e : c)
    if (e.role == Role::grid_leak && e.b == c.tail_top && e.stands(d))
      o.tail_current_a += (v(e.a) - v(e.b)) / e.value(d);
  for (int i = 0; i < c.outputs; ++i) out.output_v[i] = v(c.output[i].node);
}

}  // namespace

std::vector<Defect> defects_of(const Design& d) {
  const Circuit& c = circuit_of(d);
  std::vector<Defect> all(1);
  all[0].name = "none";
  all[0].label = "nothing";
  for (const CanHave& row : kTable) {
    for (int k = 0; k < c.elements; ++k)
      if (auto defect = defect_of(c, d, k, row)) all.push_back(std::move(*defect));
    if (row.role == Role::section && row.stage == Stage::output)
      if (auto both = whole_tube_dead(c)) all.push_back(std::move(*both));
  }
  return all;
}

std::optional<Defect> defect_named(const Design& d, std::string_view name) {
  for (Defect& defect : defects_of(d))
    if (defect.name == name) return std::move(defect);
  return std::nullopt;
}

std::optional<Pair> gain_with_defect(const Design& d, const Defect& defect) {
  Evaluation e;
  evaluate(d, Depth::small_signal, e);
  if (e.operating_point.solved != Solved::yes) return std::nullopt;
  if (!defect.seen_in_ac_only) return e.small_signal.gain;
  return gain_without(d, e.operating_point, element(circuit_of(d), defect.element));
}

DefectPoint solve_defect(const Design& d, const Defect& defect) {
  const Circuit& c = circuit_of(d);
  DefectPoint out;
  NodeVolts volts;
  if (solve_rest_point(c, d, defect.altered(), volts))
    describe(c, d, defect, volts, out);
  else
    out.point.solved = Solved::no_rest_point;
  return out;
}

}  // namespace antiphase
