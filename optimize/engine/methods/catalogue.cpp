#include "optimize/engine/methods/catalogue.h"

#include <array>

#include "optimize/engine/methods/converge.h"
#include "optimize/engine/methods/differential_evolution.h"
#include "optimize/engine/methods/nlopt_methods.h"

namespace antiphase::engine {
namespace {

// Not here: COBYLA can loop without asking for a point, so that nothing can stop it (NLopt issue 370);
// NEWUOA_BOUND hangs after an exception (117); StoGO shares state between threads; ISRES and MLSL gained
// nothing over these on the test problems; methods with gradients meet kinks.
constexpr std::array kMethods{
    Method{"differential_evolution", Reach::global, &differential_evolution,
           "keeps a population, so it ends with several distinct good points; survives kinks"},
    Method{"converge", Reach::global, &converge,
           "differential_evolution, sbplx and a descent over levels in rounds: for mixed axes"},
    Method{"crs2", Reach::global, &crs2, "controlled random search; few settings, survives kinks"},
    Method{"direct_l", Reach::global, &direct_l, "no chance in it: divides the box where it is promising"},
    Method{"sbplx", Reach::local, &sbplx, "simplex on subspaces; survives kinks and narrow valleys"},
    Method{"bobyqa", Reach::local, &bobyqa, "quadratic model; few evaluations where the ground is smooth"},
};

}  // namespace

std::span<const Method> methods() {
  return kMethods;
}

const Method* method_named(std::string_view name) {
  for (const Method& m : kMethods)
    if (m.name == name) return &m;
  return nullptr;
}

}  // namespace antiphase::engine
