/// What every triode law must give, and the closed set of laws there are.
///
/// A law is a plain struct of parameters with one member, `currents`, that fills
/// plate and grid current and their derivatives for many instants at once. Parameters that are a list
/// (a table of coefficients) stand beside fields() in `lists()`.
/// To add a law: a pair of files here and its name in `TriodeLaw`; readers, fits and
/// tests go over the alternatives of that variant. The contract (checked for every law by
/// tests/stagemodels/tubes/every_law_test.cpp): defined and finite for every
/// finite input; cathode current never falls when grid or plate voltage rises;
/// derivatives are those of the currents.
#pragma once

#include <variant>

#include "stagemodels/tubes/child_langmuir.h"
#include "stagemodels/tubes/dempwolf_zoelzer_2011.h"
#include "stagemodels/tubes/island_triode.h"
#include "stagemodels/tubes/koren_1996.h"
#include "stagemodels/tubes/measured_surface.h"

namespace antiphase {

using TriodeLaw = std::variant<Koren1996, DempwolfZoelzer2011, ChildLangmuir, MeasuredSurface, IslandTriode>;

/// One law at one point. Units: V in; A, A/V out.
TriodeCurrents currents_at(const TriodeLaw& law, double grid_to_cathode_v, double plate_to_cathode_v);

/// True if the law has grid current; false if its grid draws none at any voltage.
bool has_grid_current(const TriodeLaw& law);

}  // namespace antiphase
