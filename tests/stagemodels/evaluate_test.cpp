// The door to the solvers: it always answers, and it allocates nothing.
#include <doctest/doctest.h>

#include <cmath>
#include <cstdlib>
#include <new>

#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/design_fields.h"
#include "stagemodels/evaluate.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {
thread_local long allocations = 0;
}
// Counts every allocation of this program; the test below looks at the difference.
void* operator new(std::size_t size) {
  ++allocations;
  if (void* p = std::malloc(size ? size : 1)) return p;
  throw std::bad_alloc();
}
void operator delete(void* p) noexcept {
  std::free(p);
}
void operator delete(void* p, std::size_t) noexcept {
  std::free(p);
}

TEST_CASE("evaluating allocates nothing") {
  const Tube tubes[] = {tube_with(kKoren12AX7), tube_with(kRsd2, -0.3),
                        tube_with(ChildLangmuir{2e-3, 90, 0.3})};
  long counted = 0;
  {
    const long before = allocations;
    ::operator delete(::operator new(1));
    REQUIRE(allocations == before + 1);  // the counter works
  }
  for (const Tube& tube : tubes)
    for (const CircuitEntry& entry : circuits())
      for (BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail}) {
        Design d = pair_of(tube, bias);
        d.circuit = entry.kind;
        d.cathode_ohm = 1500;
        Evaluation e;
        const long before = allocations;
        evaluate(d, Depth::with_hand, e);
        counted += allocations - before;
      }
  CHECK(counted == 0);
}

TEST_CASE("twenty thousand designs from ten times too wide ranges each settle or say why not") {
  const Tube tubes[] = {tube_with(kKoren12AX7), tube_with(kKoren12AT7),
                        tube_with(kKoren12AU7), tube_with(kKoren6DJ8),
                        tube_with(kRsd2, -0.3), tube_with(ChildLangmuir{2e-3, 30, 0.5})};
  Dice dice{std::mt19937_64(3)};
  constexpr int kDesigns = 20000;
  int rest = 0, target = 0, told = 0, lost = 0, no_rest = 0, sensible = 0, sensible_lost = 0;
  for (int n = 0; n < kDesigns; ++n) {
    Design d = pair_of(tubes[dice.below(6)], static_cast<BiasForm>(dice.below(3)),
                       static_cast<TailForm>(dice.below(2)));
    d.tube[1] = &tubes[dice.below(6)];
    if (dice.below(4) == 0) d.circuit = CircuitKind::common_cathode;
    d.supply_v = dice.log_between(20, 2000);
    d.plate_ohm = {dice.log_between(1e3, 2e6), dice.log_between(1e3, 2e6)};
    d.bias.ohm = dice.log_between(10, 1e5);
    d.bias.grid_v = dice.between(0, 0.7) * d.supply_v;
    d.bias.rail_v = -dice.log_between(3, 1000);
    d.tail.ohm = dice.log_between(500, 1e6);
    d.tail.current_a = dice.log_between(1e-5, 50e-3);
    d.tail.output_ohm = dice.log_between(1e4, 1e9);
    d.cathode_ohm = dice.log_between(20, 1e5);
    d.cathode_unbypassed_ohm = dice.between(0, 1) * d.cathode_ohm;
    d.grid_leak_ohm = dice.log_between(1e4, 1e7);
    d.load_ohm = dice.log_between(5e3, 1e7);
    d.swing_peak_v = dice.log_between(0.1, 300);
    Evaluation e;
    evaluate(d, Depth::full, e);
    const OperatingPoint& o = e.operating_point;
    if (o.solved == Solved::no_rest_point) {
      ++no_rest;
      continue;
    }
    if (o.solved != Solved::yes) {
      ++lost;
      continue;
    }
    ++rest;
    for (double v : {o.cathode_v, o.plate_v[0], o.plate_current_a[0], e.small_signal.gain[0],
                     e.small_signal.output_impedance_alone_ohm[0], e.clean.swing_peak_v, e.clean.headroom_db})
      REQUIRE(std::isfinite(v));
    // what somebody could mean: grids negative, sections that share the current, gain, a target they can
    // swing
    bool meant = e.clean.swing_peak_v > 0.3 * d.swing_peak_v;
    for (int i = 0; i < sections(d.circuit); ++i)
      meant = meant && o.grid_to_cathode_v[i] < d.tube[i]->grid_conduction_v.value &&
              o.plate_current_a[i] > 20e-6 && std::abs(e.small_signal.gain[i]) > 1;
    if (meant) {
      ++sensible;
      if (e.at_target.solved == Solved::no_convergence) ++sensible_lost;
    }
    if (e.at_target.solved == Solved::yes) {
      ++target;
      REQUIRE(std::isfinite(e.at_target.thd_pct[0] + e.at_target.thd_differential_pct +
                            e.at_target.input_peak_v));
    } else if (e.at_target.solved == Solved::target_out_of_reach || e.at_target.solved == Solved::no_signal) {
      ++told;
    } else {
      ++lost;
    }
  }
  MESSAGE("of ", kDesigns, ": at rest ", rest, ", no rest point ", no_rest, ", at the target ", target,
          ", told why not ", told, ", not settled ", lost, "; of ", sensible, " sensible ones not settled ",
          sensible_lost);
  CHECK(sensible > 3000);
  CHECK(sensible_lost == 0);
  // The rest are stages nobody means (grids driven hundreds of volts positive, sections starved); they may
  // end as "did not settle", which is an answer too. The share is watched so that it does not grow.
  CHECK(lost < kDesigns / 20);
}

TEST_CASE("a tail that asks for more than the sections can pass is told apart") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube, BiasForm::self_biased, TailForm::constant_current);
  d.tail.current_a = 0.5;
  d.tail.output_ohm = 1e12;
  Evaluation e;
  evaluate(d, Depth::full, e);
  CHECK(e.operating_point.solved == Solved::no_rest_point);
  CHECK_FALSE(reason(e.operating_point.solved).empty());
}

TEST_CASE("a target above what the plates can swing is out of reach") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  d.swing_peak_v = 400;
  Evaluation e;
  evaluate(d, Depth::full, e);
  CHECK(e.at_target.solved == Solved::target_out_of_reach);
  CHECK(e.clean.solved == Solved::yes);  // how far it does go is still told
  CHECK(e.clean.swing_peak_v > 10);
  CHECK(e.clean.headroom_db < 0);
}

TEST_CASE("every member of a design stands once in the table of fields") {
  for (const DesignField& field : design_fields()) {
    CHECK(find_design_field(field.pointer) == &field);
    CHECK(field.low <= field.high);
    CHECK_FALSE(field.label.empty());
    for (const DesignField& other : design_fields())
      if (&other != &field) CHECK(other.pointer != field.pointer);
  }
  CHECK(find_design_field("/tail/ohms") == nullptr);
}

TEST_CASE("the table of circuits is in the order of its kinds") {
  for (const CircuitEntry& entry : circuits()) {
    CHECK(&circuit(entry.kind) == &entry);
    CHECK(circuit_named(name_of(entry.kind)) == entry.kind);
  }
}
