// The own fits on the cards can be made again: each names the command that made it.
#include <doctest/doctest.h>

#include <cmath>
#include <sstream>
#include <string>
#include <vector>

#include "configs/curve_points.h"
#include "configs/tube_library.h"
#include "stagemodels/tubes/surface_fit.h"
#include "tests/support/within.h"

using namespace antiphase;

namespace {

struct Command {
  std::vector<std::string> point_files;
  std::string tube, towards, model = "koren_1996";
};

/// "...made by: antiphase fit A.csv B.csv --tube NAME --model FORM --towards OTHER"
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
    else if (word == "--model")
      words >> command.model;
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

/// The form under a surface and the surface, or a form alone.
struct Again {
  Koren1996 form;
  MeasuredSurface surface;
  IslandTriode island;
};

Again made_again(const TubeLibrary& library, const Tube& tube, const Command& command) {
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
  const auto observations = observations_of(tube.published_points, curve);
  if (command.model == "island_triode") {
    const FitOutcome fit = fit_law(IslandTriode{}, observations, options);
    REQUIRE(fit.stop == FitStop::fitted);
    return {{}, {}, std::get<IslandTriode>(fit.law)};
  }
  const FitOutcome fit = fit_law(given, observations, options);
  REQUIRE(fit.stop == FitStop::fitted);
  Again again{std::get<Koren1996>(fit.law), {}, {}};
  if (command.model == "koren_1996") return again;
  const SurfaceFit surface = fit_surface(again.form, observations);
  REQUIRE(surface.fitted);
  again.surface = surface.law;
  return again;
}

}  // namespace

TEST_CASE("every first model is an own fit, and each own fit is made again by the command it names") {
  const auto read = read_tube_library(ANTIPHASE_SOURCE "/configs/tubes");
  REQUIRE(std::holds_alternative<TubeLibrary>(read));
  const auto& library = std::get<TubeLibrary>(read);
  for (const Tube& tube : library.tubes()) {
    if (tube.pentode.given) continue;  // output_law_test.cpp
    CAPTURE(tube.name);
    REQUIRE(is_own_fit(tube.models.front()));
    for (const TubeModel& model : tube.models) {
      if (!is_own_fit(model)) continue;
      CAPTURE(model.source);
      const Command command = command_in(model.source);
      CHECK(command.tube == tube.name);
      const Again again = made_again(library, tube, command);
      // The card has five digits; the optimum of a flat direction may move a little with the maths library.
      const auto compare = []<class Law>(const Law& now, const Law& on_card) {
        for (const auto& field : Law::fields()) {
          CAPTURE(std::string(field.name));
          CHECK(within(now.*field.member, on_card.*field.member,
                       1e-3 * std::abs(on_card.*field.member) + 1e-3));
        }
      };
      if (command.model == "koren_1996") {
        REQUIRE(std::holds_alternative<Koren1996>(model.law));
        compare(again.form, std::get<Koren1996>(model.law));
        continue;
      }
      if (command.model == "island_triode") {
        REQUIRE(std::holds_alternative<IslandTriode>(model.law));
        compare(again.island, std::get<IslandTriode>(model.law));
        continue;
      }
      REQUIRE(std::holds_alternative<MeasuredSurface>(model.law));
      compare.operator()<Koren1996>(again.surface, std::get<MeasuredSurface>(model.law));
      // A coefficient where there are no readings is held by the trace of the penalty alone: currents are
      // compared.
      for (const PublishedPoint& p : tube.published_points)
        for (const double share : {0.5, 1.0}) {
          const double grid_v = share * grid_voltage_of(p).value_or(-1);
          CHECK(within_ratio(currents_at(again.surface, grid_v, p.plate_v).plate_a,
                             currents_at(model.law, grid_v, p.plate_v).plate_a, 2e-3));
        }
    }
  }
}
