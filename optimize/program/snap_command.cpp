#include "optimize/program/snap_command.h"

#include <optional>

#include "optimize/engine/snapping/preferred_values.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/standard_output.h"
#include "optimize/program/told_errors.h"
#include "optimize/studies/snapped.h"
#include "results/text/read_quantity.h"
#include "results/text/write_quantity.h"

namespace antiphase {

int run_snap(const SnapArguments& arguments) {
  constexpr double kLeastOhm = 1e-3, kMostOhm = 1e12;
  const auto series = engine::series_named(arguments.series);
  if (!series)
    return tell("snap", Trouble{"--series: \"" + arguments.series +
                                "\" is not a series; there are E3, E6, E12, E24, E48, E96 and E192"});
  const std::optional<double> wanted = read_quantity(arguments.value, "ohm");
  if (const auto slip = slip_in_number(arguments.value, "ohm"); !wanted && !slip.empty())
    return tell("snap", Trouble{"\"" + arguments.value + "\" " + slip});
  if (!wanted || !(*wanted >= kLeastOhm && *wanted <= kMostOhm))
    return tell("snap", Trouble{"\"" + arguments.value + "\" is not a resistance from 1 mΩ to 1 TΩ; write " +
                                quantity_examples("ohm")});
  const Snapped snapped = snap(*wanted, *series, arguments.combinations);
  return print(arguments.json ? snapped_json(snapped) : snapped_text(snapped)) ? kDone : kFileTrouble;
}

}  // namespace antiphase
