/// Which values each part of a design can take: the axes of the lattice of real parts.
#pragma once

#include <vector>

#include "objectives/design_space.h"
#include "stagemodels/design_fields.h"
#include "stagemodels/sizing.h"

namespace antiphase {

struct PartAxis {
  const DesignField* field = nullptr;
  std::vector<double> levels;  ///< ascending; one: fixed; none: nothing to be had in the range
  bool logarithmic = true;
  /// The brief's own range of the part, which an ideal design keeps too; null: it has none.
  const Range* own = nullptr;
};

/// True if a brief may fix, list or range this member of the circuit by itself (DesignSpace::own_ranges):
/// what sizing fills and no sizing input gives as it is, every capacitor, grid leaks and the feedback
/// resistor. Not the unbypassed part of a cathode resistor, which sizing of the whole begins with.
bool may_have_own_range(CircuitKind, const DesignField& part);

/// The designs without their parts that a space leaves open, one for each choice of circuit, tubes and forms.
/// What the brief fixes and sizing does not fill is filled.
std::vector<Design> bases_of(const DesignSpace&);

/// The given part of every design of a space with one circuit: DesignSpace::given with those parts that have
/// one value of their own and that sizing keeps or does not fill.
Design given_in(const DesignSpace&);

/// The values that a part may take in its own range, ascending: the list, the steps, or what can be had in
/// the range; for voltages whole steps. Allocates.
std::vector<double> own_levels(const DesignSpace&, const Range& own, const DesignField& part,
                               const Design& base);

/// Values of capacitors, ascending: those on hand, or of their series.
std::vector<double> capacitors_to_be_had(const DesignSpace&);

/// A part of its own range that cannot be had together with what is asked for at rest.
struct OverDetermined {
  const DesignField* part = nullptr;  ///< not null
  double low = 0, high = 0;           ///< what the sizing inputs lead to
  std::vector<SizingInput> by;        ///< those sizing inputs on which it hangs
};

/// Sizes the stage over a grid of the space, wishes that count as met nearly (kNearShare) widened by as much,
/// and looks for a part whose own range lies outside all that comes out, by more than the margin within which
/// a search looks for other parts. Empty: none, or no point of the grid fits the supply. Cost: some ms.
std::optional<OverDetermined> over_determined(const DesignSpace&, const Design& base);

/// Values of a resistor in [low, high], ascending: those on hand, or of the part's own series, or of the
/// series of all. Allocates.
std::vector<double> resistors_to_be_had(const DesignSpace& space, const DesignField& resistor, double low,
                                        double high);

/// Values that plate resistor 2 can have where it may be made of two; empty where it may not. One part has
/// second == 0.
std::vector<engine::TwoPart> plate_2_parts(const DesignSpace& space);

/// The axes for the circuit, forms and tube of `base`: the members that its Sizing fills in these forms, in
/// that order, and then grid leaks with a range of their own. A part that has no such range and that no
/// sizing input gives as it is (bias, tail, cathode resistor) gets its range from sizing the stage over a
/// grid of the space. Empty if no point of that grid fits the supply. `own` points into `space`.
std::vector<PartAxis> part_axes(const DesignSpace& space, const Design& base);

}  // namespace antiphase
