#include "results/page/live/live_fields.h"

#include <doctest/doctest.h>

#include "results/page/live/live_data.h"
#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/forms.h"
#include "stagemodels/members.h"
#include "tests/results/support/sample_report.h"

using namespace antiphase;

namespace {

template <class T>
std::vector<double> written(T whole) {
  LiveWriter io;
  pass(io, whole);
  return std::move(io).take();
}

/// Whether the numbers are taken to the last for a T, and a second writing gives them again.
template <class T>
bool comes_back(const std::vector<double>& numbers) {
  LiveReader io(numbers.data(), numbers.size());
  T back{};
  pass(io, back);
  return io.good() && io.left() == 0 && written(back) == numbers;
}

Demands some_demands() {
  Demands d;
  d.objectives = {{&figures()[1], 2, 3}, {&figures().back(), 1, 6}};
  d.limits.push_back({&figures()[2], 5e-3, std::nullopt, {1, 2, 3}, 0.1});
  d.factors.left_out = 5;
  d.parts.on_hand = Stock{{{47e3, 2}, {100e3, 1}}, {{1e-7, 4}}};
  d.parts.plate_2 = {{47e3, 1e3, false, 48e3, 1e-3}};
  d.parts_left_out = true;
  return d;
}

}  // namespace

TEST_CASE("enumerators are counted as the catalogues count them") {
  CHECK(enumerators<CircuitKind>() == circuits().size());
  CHECK(enumerators<BiasForm>() == kEveryBiasForm.size());
  CHECK(enumerators<TailForm>() == kEveryTailForm.size());
  // IEC 60063 has E3, E6, E12, E24, E48, E96 and E192
  CHECK(enumerators<engine::Series>() == 7);
}

TEST_CASE("what goes to the page comes back number by number") {
  const Design pair = sample::self_biased_pair();
  const Tube& tube = *pair.tube[0];
  CHECK(comes_back<Tube>(written(tube)));
  CHECK(comes_back<Demands>(written(some_demands())));
  Tolerances tolerances;
  tolerances.single = {{&member::plate_ohm_0, 0.5}};
  CHECK(comes_back<Tolerances>(written(tolerances)));
  OutputValve valve;
  valve.name = "output valve";
  valve.grid = grid_diode(-1);
  valve.grid_leak_ohm_max_self_bias = Sourced{470e3, "stays at home"};
  CHECK(comes_back<OutputValve>(written(valve)));
  for (const OutputLaw& law :
       {OutputLaw(SpaceCurrentPentode{.mu = 9, .division = 7}), OutputLaw(Koren1996{.mu = 4})}) {
    valve.law = OutputValveLaw{law, {}, "stays at home"};
    CHECK(comes_back<OutputValve>(written(valve)));
  }

  const Design* only = &pair;
  const LiveTables tables = tables_of({&only, 1});
  const std::vector<double> numbers = live_design(pair, tables);
  CHECK(numbers.size() == forms_size() + design_fields().size() + 2);
  LiveReader io(numbers.data(), numbers.size());
  Design back;
  pass_design(io, back, tables);
  CHECK(io.left() == 0);
  CHECK(live_design(back, tables) == numbers);
  CHECK(back.tube[0] == &tube);
  for (const DesignField& field : design_fields()) CHECK(field.value(back) == field.value(pair));
}

TEST_CASE("an output stage goes to the page with its valve") {
  OutputValve valve;
  valve.name = "output valve";
  valve.law = OutputValveLaw{SpaceCurrentPentode{}, {}, ""};
  Design d = sample::self_biased_pair();
  d.output_valve = &valve;
  d.output_stage.given = true;
  d.output_stage.watts = 12;
  OutputPair& p = d.output_stage.pair;
  p.valve = {&valve, &valve};
  p.supply_v = 300;
  p.screens = ScreenConnection::ultralinear;
  p.bias = OutputBias::cathode;
  p.cathode_ohm = 130;
  p.transformer = {.plate_to_plate_ohm = 8e3, .load_ohm = 15, .primary_h = 40, .leakage_h = 0.02};
  const Design* only = &d;
  const LiveTables tables = tables_of({&only, 1});
  const std::vector<double> numbers = live_design(d, tables);
  LiveReader io(numbers.data(), numbers.size());
  Design back;
  pass_design(io, back, tables);
  CHECK(io.left() == 0);
  CHECK(live_design(back, tables) == numbers);
  CHECK(back.output_stage.given);
  CHECK(back.output_stage.watts == 12);
  CHECK(back.output_stage.pair.valve[1] == &valve);
  CHECK(back.output_stage.pair.screens == ScreenConnection::ultralinear);
  CHECK(back.output_stage.pair.bias == OutputBias::cathode);
  CHECK(back.output_stage.pair.transformer.leakage_h == 0.02);
}

TEST_CASE("places that no enum, figure or law has are refused, and lists that end too soon") {
  for (const double place : {-1.0, 7.0, 1e300}) {
    LiveReader io(&place, 1);
    engine::Series series{};
    pass(io, series);
    CHECK_FALSE(io.good());
  }
  for (const double place : {-1.0, static_cast<double>(figures().size())}) {
    LiveReader io(&place, 1);
    const Figure* figure = nullptr;
    pass_figure(io, figure);
    CHECK_FALSE(io.good());
    CHECK(figure == &figures()[0]);
  }
  const double law[] = {static_cast<double>(std::variant_size_v<TriodeLaw>), 1};
  LiveReader io(law, 2);
  TubeModel model;
  pass(io, model);
  CHECK_FALSE(io.good());
  std::vector<double> numbers = written(some_demands());
  numbers.pop_back();
  CHECK_FALSE(comes_back<Demands>(numbers));
}
