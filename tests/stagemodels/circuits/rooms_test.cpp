// Arrays of fixed size hold what every circuit puts into them, in every form that it has: what was allotted
// is enough. Where it is not, nothing warns: a release build writes past the end.
#include <doctest/doctest.h>

#include <algorithm>

#include "stagemodels/circuits/coefficients.h"
#include "stagemodels/circuits/driver_picture.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/circuits/tape.h"
#include "stagemodels/linear/nodal_equations.h"
#include "stagemodels/solve/cycle.h"

using namespace antiphase;

namespace {

template <class Each>
void for_each_list(Each each) {
  for (const CircuitEntry& entry : circuits())
    for_each_form(entry.kind, [&](const Design& d, const Circuit& list) {
      CAPTURE(entry.name);
      CAPTURE(name_of(d.first_stage.form));
      CAPTURE(name_of(d.driver.form));
      each(d, list);
    });
}

}  // namespace

TEST_CASE("every circuit's list, equations and tape have room in every form") {
  int lists = 0;
  for_each_list([&](const Design&, const Circuit& list) {
    ++lists;
    CHECK(list.elements <= Circuit::kMostElements);
    CHECK(list.nodes <= Circuit::kMostNodes);
    CHECK(list.extras <= Circuit::kMostExtra);
    for (const bool all : {false, true}) {
      const Held held{.source = all,
                      .dropping = all,
                      .decoupling = all,
                      .unbypassed = all,
                      .first_unbypassed = all,
                      .second_unbypassed = all,
                      .output_grids = all};
      const Unknowns u = unknowns_of(list, held);
      CHECK(u.locals <= CycleState::kMostNodes);
      CHECK(u.still <= CycleState::kMostStill);
      CHECK(u.folded <= Coefficients::kFolded);
      CHECK(u.locals + u.still <= Coefficients::kMost);
      CHECK(u.constant() + 1 <= Unknowns::kMost);
      const Tape tape = make_tape(shape_of(list, held));
      CHECK(tape.slots <= Tape::kMostSlots);
      CHECK(tape.means <= Tape::kMostMeans);
    }
  });
  CHECK(lists >= 300);
}

TEST_CASE("the linear network has room for every node that nothing holds") {
  for_each_list([&](const Design&, const Circuit& list) {
    const auto held = std::count_if(list.begin(), list.end(), [](const Element& e) {
      return e.kind == ElementKind::held || e.kind == ElementKind::driven;
    });
    // Ground, what is held or driven, and the far end of a feedback resistor are no unknowns; of the two
    // supplies one is given.
    const auto known = held - 1 + 1 + (list.feedback != kNoNode ? 1 : 0);
    CHECK(list.nodes - known <= NodalMatrix::kMost);
  });
}

TEST_CASE("every drawing has room in every form") {
  for_each_list([&](const Design& d, const Circuit&) {
    const Picture p = picture_of(d.circuit, form_of(d));
    CHECK(static_cast<std::size_t>(p.placings) <= p.placed.size());
    CHECK(static_cast<std::size_t>(p.wires) <= p.wire.size());
    CHECK(static_cast<std::size_t>(p.grounds) <= p.ground.size());
    CHECK(static_cast<std::size_t>(p.terminals) <= p.terminal.size());
    CHECK(static_cast<std::size_t>(p.probes) <= p.probe.size());
  });
}
