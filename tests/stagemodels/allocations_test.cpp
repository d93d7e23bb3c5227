// Evaluating allocates nothing. Left out under the thread sanitizer, which brings an allocator of its own.
#include <doctest/doctest.h>

#include <cstdlib>
#include <new>

#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/evaluate.h"
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
        Evaluation e;
        const long before = allocations;
        evaluate(d, Depth::with_hand, e);
        counted += allocations - before;
      }
  CHECK(counted == 0);
}
