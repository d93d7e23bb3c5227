// Evaluating allocates nothing. Left out under the thread sanitizer, which brings an allocator of its own.
#include <doctest/doctest.h>

#include <cstdlib>
#include <new>

#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/places.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/evaluate.h"
#include "stagemodels/output/whole_amplifier.h"
#include "tests/stagemodels/output/pairs.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {
thread_local long allocations = 0;
}
// Counts every allocation of this program; the test below looks at the difference. Not inlined, since gcc
// takes an inlined malloc beside a delete for a mistake.
#define ANTIPHASE_APART __attribute__((noinline))
ANTIPHASE_APART void* operator new(std::size_t size) {
  ++allocations;
  if (void* p = std::malloc(size ? size : 1)) return p;
  throw std::bad_alloc();
}
ANTIPHASE_APART void* operator new(std::size_t size,
                                   const std::nothrow_t&) noexcept {  // what std::stable_sort asks
  ++allocations;
  return std::malloc(size ? size : 1);
}
ANTIPHASE_APART void operator delete(void* p) noexcept {
  std::free(p);
}
ANTIPHASE_APART void operator delete(void* p, std::size_t) noexcept {
  std::free(p);
}

TEST_CASE("evaluating allocates nothing") {
  const Tube tubes[] = {tube_with(kKoren12AX7), tube_with(kRsd2, -0.3),
                        tube_with(ChildLangmuir{2e-3, 90, 0.3})};
  const Tube pentode = pentode_with(kSmallPentode);
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
        d.first_stage.tube = &tube;
        d.first_stage.plate_ohm = 220e3;
        d.first_stage.cathode_ohm = 2200;
        d.first_stage.screen_ohm = 1e6;
        d.first_stage.second_tube = &tube;
        d.first_stage.second_plate_ohm = 150e3;
        d.first_stage.second_cathode_ohm = 1500;
        d.first_stage.second_grid_foot_ohm = 220e3;
        d.first_stage.load_current_a = 1e-3;
        d.driver.tube = &tube;
        d.driver.cathode_ohm = d.driver.plate_ohm = 33e3;
        d.driver.rail_v = -150;
        for (const DriverForm driver : driver_forms(d.circuit))
          for (const GainForm gain : gain_forms(d.circuit)) {
            d.driver.form = driver;
            d.first_stage.form = gain;
            d.first_stage.tube = gain == GainForm::pentode ? &pentode : &tube;
            Evaluation e;
            evaluate(d, Depth::with_hand, e);  // the first design of a form makes its lists and its tape
            const long before = allocations;
            evaluate(d, Depth::with_hand, e);
            counted += allocations - before;
          }
      }
  CHECK(counted == 0);
}

TEST_CASE("solving an output pair, and the whole amplifier with it, allocates nothing") {
  const Tube tube = tube_with(kKoren12AU7);
  const OutputValve valve = valve_with(SpaceCurrentPentode{});
  Design d = pair_of(tube);
  d.circuit = CircuitKind::gain_and_splitter;
  d.plate_ohm = {47e3, 51e3};
  d.bias.ohm = 1200;
  d.tail.ohm = 15e3;
  d.first_stage.tube = &tube;
  d.first_stage.plate_ohm = 150e3;
  d.first_stage.cathode_ohm = 1800;
  d.first_stage.cathode_unbypassed_ohm = 100;
  d.feedback = {.given = true, .wanted_db = 8, .source_v_rms = 1};
  d.output_stage = {.given = true, .watts = 5, .pair = fixed_bias_pair(valve, 300, -22, 6600)};
  PairFigures figures;
  Evaluation e;
  Solved solved{};
  const auto all_of_it = [&] {
    solved = follow_output_stage(d, figures);
    evaluate(d, Depth::with_hand, e);
    output_stage_figures(d, e, e.output_stage);
  };
  all_of_it();  // the first design of a form makes its lists, its tape and the table of instants
  d.plate_ohm = {48e3, 50e3};
  const long before = allocations;
  all_of_it();
  const long counted = allocations - before;
  REQUIRE(solved == Solved::yes);
  CHECK(e.output_stage.closed.solved == Solved::yes);
  CHECK(counted == 0);
}
