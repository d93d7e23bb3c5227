/// How a solve ended, and the shapes that figures of all solvers share.
#pragma once

#include <array>
#include <string_view>

namespace antiphase {

inline constexpr int kHarmonics = 10;  ///< fundamental and harmonics up to this one
using Pair = std::array<double, 2>;    ///< one number per section or output

/// How a solve ended. `not_run` until it did.
enum class Solved {
  not_run,
  yes,
  no_rest_point,        ///< no set of voltages satisfies the circuit at rest
  no_convergence,       ///< Newton and its safeguards did not settle
  target_out_of_reach,  ///< the outputs saturate below the target swing
  no_signal,            ///< a section is cut off or without plate voltage at rest: no gain to speak of
};
/// A sentence for people; empty for `yes`.
std::string_view reason(Solved);

}  // namespace antiphase
