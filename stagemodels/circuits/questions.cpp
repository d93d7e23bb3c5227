#include "stagemodels/circuits/questions.h"

#include <algorithm>

#include "stagemodels/members.h"

namespace antiphase {
namespace {

template <class Is>
bool in_some_form(CircuitKind kind, Is is) {
  bool found = false;
  for_each_form(kind, [&](const Design&, const Circuit& list) { found = found || is(list); });
  return found;
}

bool is_extra(const Circuit& list, const DesignField& field) {
  const auto end = list.extra.begin() + list.extras;
  return std::find(list.extra.begin(), end, &field) != end;
}

bool touches(const Element& e, Node n) {
  return n != kGround && n != kNoNode && (e.a == n || e.b == n);
}

}  // namespace

std::span<const GainForm> gain_forms(CircuitKind kind) {
  static constexpr std::array kAll{
      GainForm::triode, GainForm::constant_current, GainForm::cascode, GainForm::mu_follower,
      GainForm::srpp,   GainForm::two_triodes,      GainForm::pentode};
  return std::span(kAll).first(has_first_stage(kind) ? kAll.size() : 1);
}

std::span<const DriverForm> driver_forms(CircuitKind kind) {
  static constexpr std::array kAll{DriverForm::none, DriverForm::cathode_followers,
                                   DriverForm::long_tailed_pair};
  Design d;
  d.circuit = kind;
  const Circuit& list = circuit_of(d);
  return std::span(kAll).first(list.outputs == 2 && !has_role(list, Role::divider) ? kAll.size() : 1);
}

bool has_role(const Circuit& list, Role role) {
  return std::any_of(list.begin(), list.end(), [&](const Element& e) { return e.role == role; });
}

bool has_role(CircuitKind kind, Role role) {
  return in_some_form(kind, [&](const Circuit& list) { return has_role(list, role); });
}

bool names_member(const Circuit& list, const DesignField& field) {
  return is_extra(list, field) ||
         std::any_of(list.begin(), list.end(), [&](const Element& e) { return e.member == &field; });
}

bool has_member(CircuitKind kind, const DesignField& field) {
  return in_some_form(kind, [&](const Circuit& list) { return names_member(list, field); });
}

bool always_has_member(CircuitKind kind, const DesignField& field) {
  return !in_some_form(kind, [&](const Circuit& list) {
    return !is_extra(list, field) && std::none_of(list.begin(), list.end(), [&](const Element& e) {
      return e.member == &field && !e.when;
    });
  });
}

int plate_resistors(CircuitKind kind) {
  return has_member(kind, member::plate_ohm_1) ? 2 : 1;
}

bool leaks_off_ground(CircuitKind kind) {
  return in_some_form(kind, [](const Circuit& list) { return list.leak_foot != kGround; });
}

std::array<PartlyBypassed, Circuit::kMostSections> partly_bypassed(const Circuit& list) {
  std::array<PartlyBypassed, Circuit::kMostSections> found{};
  std::size_t count = 0;
  for (const Element& part : list) {
    if (part.role != Role::cathode_unbypassed || count == found.size()) continue;
    for (const Element& rest : list)  // the two halves of the resistor meet at a node of their own
      if (rest.role == Role::cathode && (touches(rest, part.a) || touches(rest, part.b)))
        found[count] = {part.member, rest.member};
    count += found[count].part ? 1 : 0;
  }
  return found;
}

const DesignField* feedback_comes_in_at(const Circuit& list) {
  for (const Element& feedback : list) {
    if (feedback.role != Role::feedback) continue;
    const Node end = feedback.a == list.feedback ? feedback.b : feedback.a;
    for (const Element& e : list)
      if (e.role == Role::cathode_unbypassed && touches(e, end)) return e.member;
  }
  return nullptr;
}

std::string_view label_in(const Design& d, const DesignField& field) {
  const Circuit& list = circuit_of(d);
  if (&field == &member::driver_cathode_ohm && d.driver.form == DriverForm::long_tailed_pair)
    return "driver's tail resistor";
  if (has_role(list, Role::cathode_load))
    for (const Element& e : list)
      if (e.member == &field && (e.role == Role::plate_load || e.role == Role::cathode_load)) return e.label;
  return field.label;
}

}  // namespace antiphase
