#include "stagemodels/circuits/places.h"

#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/made_once.h"

namespace antiphase {
namespace {

bool leads_on(const Element& e) {
  return e.kind == ElementKind::resistor || e.kind == ElementKind::sink;
}

/// Where a cathode's current ends.
const Element* foot_of(const Circuit& c, Node cathode) {
  Node at = cathode;
  for (int steps = 0; steps < c.nodes && at != kGround; ++steps) {
    Node next = kNoNode;
    for (const Element& e : c) {
      if (e.kind == ElementKind::held && e.a == at) return &e;
      if (leads_on(e) && e.a == at && e.role != Role::grid_leak && e.role != Role::driver_leak &&
          e.role != Role::load)
        next = e.b;
    }
    if (next == kNoNode) return nullptr;
    at = next;
  }
  return nullptr;
}

/// True if a plate hangs on a supply by itself. One that only another section's current reaches stands at no
/// voltage while the tubes are cold.
bool fed(const Circuit& c, Node plate) {
  for (const Element& e : c)
    if (leads_on(e) && (e.a == plate || e.b == plate)) {
      const Node other = e.a == plate ? e.b : e.a;
      if (other == c.supply || other == c.first_supply) return true;
    }
  return false;
}

bool hangs_on_plate(const Circuit& c, Node grid) {
  Node at = grid;
  for (int steps = 0; steps < c.nodes && at != kGround; ++steps) {
    Node next = kNoNode;
    for (const Element& e : c) {
      if (e.kind == ElementKind::triode && e.a == at) return fed(c, at);
      if (e.kind == ElementKind::driven && e.a == at) return e.member != nullptr;
      if (e.kind != ElementKind::resistor) continue;
      if (e.role == Role::grid_leak && e.a == at) next = e.b;
      if (e.role == Role::source && e.b == at) next = e.a;
    }
    if (next == kNoNode) return false;
    at = next;
  }
  return false;
}

}  // namespace

Places find_places(const Circuit& c) {
  Places out;
  for (const Element& e : c)
    if (e.kind == ElementKind::sink) (e.role == Role::tail ? out.sink : out.plate_source) = &e;
  for (int s = 0; s < Circuit::kMostSections; ++s) {
    SectionPlace& p = out.section[static_cast<std::size_t>(s)];
    p.triode = c.section(s);
    if (!p.triode) continue;
    for (const Element& e : c) {
      if ((e.role == Role::grid_leak || e.role == Role::driver_leak) && e.a == p.triode->b) p.grid_leak = &e;
      if (e.role == Role::divider && e.a == p.triode->b && e.b == kGround) p.grid_leak = &e;
      if (e.kind == ElementKind::clamp && e.a == p.triode->b) p.clamp = &e;
    }
    p.foot = foot_of(c, p.triode->c);
    p.grid_on_plate = hangs_on_plate(c, p.triode->b);
  }
  return out;
}

const Places& places_of(const Design& d) {
  static std::atomic<const Places*> known[kCircuitKinds][kForms];
  return made_once(known[static_cast<std::size_t>(d.circuit)][form_number(form_of(d))],
                   [&] { return find_places(circuit_of(d)); });
}

}  // namespace antiphase
