/// A design as it may come out when it is built: which properties vary, and one build for one set of draws.
#pragma once

#include <array>
#include <span>
#include <string>
#include <vector>

#include "objectives/builds/tolerances.h"
#include "optimize/engine/sampling/sobol.h"
#include "stagemodels/circuits/places.h"
#include "stagemodels/design_fields.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

enum class BuildProperty { part, mains, setting, heater, plate_current, mu, emission };

/// One thing that differs from build to build, independently of the others.
struct Varied {
  BuildProperty kind;
  std::string name;   ///< for files: a part's JSON pointer, "mains", "tube/plate_current", "section_1/mu"
  std::string label;  ///< for people: "plate resistor 1", "plate current of section 1 alone"
  double half_width;  ///< as a share of the nominal value
  Scatter scatter;
  const DesignField* field = nullptr;  ///< of part, setting
  int section = -1;                    ///< 0, 1; -1: both; kFirstStage: the one ahead of the output stage
  /// Of the points that builds are drawn from. The same property has the same one in every design, so that
  /// build k has the same luck in all of them (common random numbers).
  int dimension = 0;
};

/// Half width of a part, a setting or a load, as a share of its value.
double tolerance_of(const DesignField&, const Tolerances&);

/// What may vary in `design`, and how. The rest point of the design is solved once here: a card says how much
/// plate current scatters at fixed voltages, and they are taken as those at which the design rests.
class BuildModel {
 public:
  /// The design's tubes must outlive this. Cost: one rest point; allocates.
  BuildModel(const Design& design, const Tolerances& tolerances);

  const Design& nominal() const { return nominal_; }
  /// At most engine::SobolPoints::kMostDimensions.
  std::span<const Varied> varied() const { return varied_; }

  /// The draws of build `number`, one per varied property, into the front of `unit`. points: of
  /// kMostDimensions.
  void draw(const engine::SobolPoints& points, std::uint32_t number, std::span<double> unit) const;

  /// The build for draws in (0, 1), one per varied property: each a place in its distribution, 0.5 the
  /// nominal value. Allocates nothing; threads: safe.
  Design build(std::span<const double> unit) const;

  /// The same for deviations given outright, -1 … 1 of each half width (emission: -1 the most worn, 1 new).
  Design build_at(std::span<const double> deviation) const;

  /// Where a draw lies, -1 … 1 of the half width.
  double deviation(std::size_t property, double unit) const;

  /// What a draw weighs in a sample if the property's tolerance were half as wide (0 beyond it), and 1 on
  /// average: the same builds then tell what the tighter part would give.
  double weight_if_halved(std::size_t property, double unit) const;

 private:
  void vary_parts(const Tolerances&);
  void vary_tubes(const Tolerances&);

  Design nominal_;
  std::vector<Varied> varied_;
  // Per section, the first stage last. Plate current by the law at rest; 0: no rest point.
  std::array<double, Circuit::kMostSections> rest_a_{}, grid_to_cathode_v_{}, plate_to_cathode_v_{},
      screen_to_cathode_v_{};
  double emission_left_ = 1;
  std::vector<const DesignField*> held_;  ///< voltages that follow the mains
  struct InTwoParts {
    const DesignField *whole, *bare;
  };
  std::vector<InTwoParts> two_parts_;  ///< resistors of which a capacitor bridges a part, or all
};

}  // namespace antiphase
