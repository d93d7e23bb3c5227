// The own fits on the cards can be made again: each names the command that made it.
#include <doctest/doctest.h>

#include <cmath>
#include <sstream>
#include <string>
#include <vector>

#include "configs/curve_points.h"
#include "configs/tube_library.h"
#include "stagemodels/tubes/fit.h"
#include "tests/support/within.h"

using namespace antiphase;

namespace {

struct Command {
  std::vector<std::string> point_files;
  std::string tube, towards;
};

/// "...made by: antiphase fit A.csv B.csv --tube NAME --towards OTHER"
Command command_in(const std::string& source) {
  const std::string mark = "made by: antiphase fit ";
  const auto at = source.find(mark);
  REQUIRE(at != std::string::npos);
  std::istringstream words(source.substr(at + mark.size()));
  Command command;
  for (std::string word; words >> word;) {
    if (word == "--tube")
      words >> command.tube;
    else if (word == "--towards")
      words >> command.towards;
    else
      command.point_files.push_back(ANTIPHASE_SOURCE "/" + word);
  }
  return command;
}

bool is_own_fit(const TubeModel& model) {
  return model.source.starts_with("own fit");
}

/// The law that `--towards` names: of the tube itself its published set, of another its first.
Koren1996 reference(const TubeLibrary& library, const Tube& tube, const std::string& name) {
  const Tube* from = library.find(name);
  REQUIRE(from);
  for (const TubeModel& m : from->models)
    if (std::holds_alternative<Koren1996>(m.law) && !(from == &tube && is_own_fit(m)))
      return std::get<Koren1996>(m.law);
  FAIL("no reference law");
  return {};
}

}  // namespace

TEST_CASE("every first model is an own fit that its command makes again") {
  const auto read = read_tube_library(ANTIPHASE_SOURCE "/configs/tubes");
  REQUIRE(std::holds_alternative<TubeLibrary>(read));
  const auto& library = std::get<TubeLibrary>(read);
  for (const Tube& tube : library.tubes()) {
    CAPTURE(tube.name);
    REQUIRE(is_own_fit(tube.models.front()));
    REQUIRE(std::holds_alternative<Koren1996>(tube.law()));
    const Command command = command_in(tube.models.front().source);
    CHECK(command.tube == tube.name);

    std::vector<CurvePoint> curve;
    for (const std::string& file : command.point_files) {
      const auto points = read_curve_points(file);
      REQUIRE(std::holds_alternative<CurveFile>(points));
      const auto& list = std::get<CurveFile>(points).points;
      curve.insert(curve.end(), list.begin(), list.end());
    }
    FitOptions options;
    options.towards_given = !command.towards.empty();
    const Koren1996 given = options.towards_given ? reference(library, tube, command.towards) : Koren1996{};
    const FitOutcome fit = fit_law(given, observations_of(tube.published_points, curve), options);
    REQUIRE(fit.stop == FitStop::fitted);

    // The card has five digits; the optimum of a flat direction may move a little with the maths library.
    const auto& on_card = std::get<Koren1996>(tube.law());
    const auto& again = std::get<Koren1996>(fit.law);
    for (const auto& field : Koren1996::fields()) {
      CAPTURE(std::string(field.name));
      CHECK(
          within(again.*field.member, on_card.*field.member, 1e-3 * std::abs(on_card.*field.member) + 1e-3));
    }
  }
}
