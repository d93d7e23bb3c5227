/// Designs drawn from a seed: every form, plausible currents, nothing tuned to either solver.
#pragma once

#include <cstdint>
#include <random>

#include "stagemodels/design.h"

namespace antiphase::reference {

/// Uniform numbers that are the same on every standard library (the engine's bits are fixed by the
/// standard, its distributions are not).
class Draws {
 public:
  explicit Draws(std::uint64_t seed) : engine_(seed) {}
  double between(double low, double high);
  double log_between(double low, double high);  ///< low > 0
  std::size_t below(std::size_t count);
  bool once_in(std::size_t count) { return below(count) == 0; }

 private:
  std::mt19937_64 engine_;
};

/// A pair whose rest point should lie where a rough load line puts it. The true one differs;
/// the caller rejects what is cut off.
Design random_pair(Draws& draws, BiasForm bias, TailForm tail);

enum class Bypass { whole, part, none };

/// A gain stage whose cathode resistor is bypassed so. The same remark holds.
Design random_gain_stage(Draws& draws, Bypass bypass);

/// A pair behind a gain stage whose cathode resistor is bypassed so; directly coupled if the pair's bias says
/// so. The same remark holds.
Design random_chain(Draws& draws, BiasForm bias, TailForm tail, Bypass bypass);

/// A split-load splitter, self-biased or directly coupled. The same remark holds.
Design random_split_load(Draws& draws, BiasForm bias);
/// The same behind a gain stage whose cathode resistor is bypassed so.
Design random_split_load_chain(Draws& draws, BiasForm bias, Bypass bypass);

/// A paraphase or one that balances itself, its cathode resistor, and that of a gain stage ahead, bypassed
/// so. The same remark holds.
Design random_paraphase(Draws& draws, Bypass bypass, bool floating, bool behind_first_stage);

/// A pair or a split load with a driver behind it. The same remark holds.
Design random_driven(Draws& draws, bool split_load, DriverForm form);

}  // namespace antiphase::reference
