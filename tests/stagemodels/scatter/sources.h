/// Everything that is published of types with two sources or more, each source beside a law that was made
/// without it.
#pragma once

#include <string>
#include <vector>

namespace antiphase::testing {

/// What is said: of a section at fixed voltages (gm, mu and rp are `slope` to the scatter), or of a published
/// stage.
enum class Said { current, gm, mu, rp, stage_current, gain, distortion, swing };
inline constexpr int kSaidKinds = 8;
const char* name_of(Said);

/// One printed number against its prediction.
struct Statement {
  Said what = Said::current;
  double off = 0;  ///< ln(printed / predicted)
  double by_current = 0,
         by_mu = 0;          ///< how the logarithm of the prediction goes with those of the two factors
  bool within_laws = false;  ///< the card's credible laws, one by one, have it between them
  bool asked_laws = false;   ///< they were asked
};

struct Source {
  std::string type, name;
  std::vector<Statement> statements;
};

/// Cost: some seconds, for the laws that are fitted anew without a source.
std::vector<Source> all_sources();

}  // namespace antiphase::testing
