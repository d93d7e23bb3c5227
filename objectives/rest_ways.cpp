#include "objectives/rest_ways.h"

#include <array>
#include <utility>

#include "stagemodels/circuits/catalogue.h"

namespace antiphase {
namespace {

/// The last element that the current of a cathode goes through, down to ground or to what is held.
const Element* last_below(const Circuit& c, Node cathode) {
  const Element* last = nullptr;
  for (Node at = cathode; at != kNoNode;) {
    const Element* next = nullptr;
    for (const Element& e : c)
      if ((e.kind == ElementKind::resistor || e.kind == ElementKind::sink) && e.a == at &&
          e.role != Role::grid_leak && e.role != Role::load && (!next || e.kind == ElementKind::resistor))
        next = &e;
    if (!next) break;
    last = next;
    at = next->b == kGround ? kNoNode : next->b;
  }
  return last;
}

double sum_of(const Design& d, std::initializer_list<Role> roles) {
  double ohm = 0;
  for (const Element& e : circuit_of(d))
    for (const Role role : roles)
      if (e.role == role && e.kind == ElementKind::resistor && e.there(d)) ohm += e.value(d);
  return ohm;
}

/// Forms without a driver and behind one triode: nothing is proved of the others.
constexpr int kProvedForms = kFormsAlone;

/// Of one circuit in one choice of forms: proved at the first call.
template <std::size_t Slot>
const StageWays& slot() {
  static const StageWays ways = [] {
    constexpr int kKind = static_cast<int>(Slot) / kProvedForms,
                  kForm = static_cast<int>(Slot) % kProvedForms * kAround;
    static_assert(form_of_number(kForm).driver == DriverForm::none);
    static_assert(form_of_number(kForm).gain == GainForm::triode);
    Design d;
    d.circuit = static_cast<CircuitKind>(kKind);
    d.bias.form = form_of_number(kForm).bias;
    d.tail.form = form_of_number(kForm).tail;
    d.feedback.given = form_of_number(kForm).feedback;
    return prove_stage_ways(circuit_of(d), d);
  }();
  return ways;
}

template <std::size_t... Slots>
constexpr auto every_slot(std::index_sequence<Slots...>) {
  return std::array<const StageWays& (*)(), sizeof...(Slots)>{&slot<Slots>...};
}

}  // namespace

StageWays prove_stage_ways(const Circuit& c, const Design& forms) {
  const Directions directions(c, forms);
  const auto ways = [&](std::initializer_list<RestQuantity> quantities) {
    QuantityWays out;
    const auto all = [&](auto&& one) {
      Way w = Way::stays;
      bool first = true;
      for (const RestQuantity& q : quantities) {
        const Way of = one(q);
        w = first || w == of ? of : Way::unknown;
        first = false;
      }
      return w;
    };
    for (const DesignField& member : design_fields()) {
      const Way w = all([&](const RestQuantity& q) { return directions.with(q, member); });
      if (w != Way::stays) out.members.push_back({&member, w});
    }
    out.with_supply = all([&](const RestQuantity& q) { return directions.with_held(q, c.main_supply); });
    return out;
  };
  const auto volts = [](Node a, Node b) { return RestQuantity{RestQuantity::voltage, a, b}; };
  const Element &one = *c.section(0), *two = c.section(1);
  StageWays w;
  w.cathode_v = ways({volts(one.c, kGround)});
  w.grid_to_cathode_v =
      two ? ways({volts(one.b, one.c), volts(two->b, two->c)}) : ways({volts(one.b, one.c)});
  w.leak_node_v = ways({volts(c.leak_foot, kGround)});
  w.leak_node_to_cathode_v = ways({volts(c.leak_foot, one.c)});
  w.tail_v = ways({volts(c.tail_top, c.tail_foot)});
  w.plate_v = ways({volts(one.a, kGround)});
  if (const Element* last = last_below(c, one.c)) {
    w.stage_a = ways({{RestQuantity::current, last->a, last->b}});
  } else {
    for (const DesignField& member : design_fields()) w.stage_a.members.push_back({&member, Way::unknown});
  }
  for (const Element& e : c) {
    w.has_tail |= e.role == Role::tail;
    if (e.role != Role::grid_leak && e.role != Role::source && e.kind == ElementKind::resistor)
      w.leaks_inside |= c.leak_foot != kGround && (e.a == c.leak_foot || e.b == c.leak_foot);
  }
  return w;
}

const StageWays& stage_ways(const Design& d) {
  static constexpr auto all = every_slot(std::make_index_sequence<kCircuitKinds * kProvedForms>());
  return all[static_cast<int>(d.circuit) * kProvedForms + form_number(form_of(d)) / kAround]();
}

double plate_load_ohm(const Design& d) {
  return sum_of(d, {Role::plate_load});
}

double cathode_ohm(const Design& d) {
  return sum_of(d, {Role::cathode, Role::cathode_unbypassed});
}

}  // namespace antiphase
