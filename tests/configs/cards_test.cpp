// The tube cards that come with the program: are they whole, and how well do their laws meet what the
// sheets print?
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>
#include <string>
#include <vector>

#include "configs/curve_points.h"
#include "configs/tube_library.h"
#include "stagemodels/tubes/fit_data.h"
#include "tests/support/within.h"

using namespace antiphase;

namespace {

const std::string kFolder = ANTIPHASE_SOURCE "/configs/tubes";

const TubeLibrary& library() {
  static const OrErrors<TubeLibrary> read = read_tube_library(kFolder);
  if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
  return std::get<TubeLibrary>(read);
}

double median(std::vector<double> values) {
  REQUIRE_FALSE(values.empty());
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

const char* name_of(Characteristic what) {
  switch (what) {
    case Characteristic::plate_current:
      return "Ia";
    case Characteristic::gm:
      return "gm";
    case Characteristic::mu:
      return "mu";
    case Characteristic::rp:
      return "rp";
  }
  return "";
}

bool has_curves(const Tube& tube) {
  return tube.models.front().source.find("plate-curve readings") != std::string::npos;
}

void judge(const char* which, const std::vector<double>& currents, const std::vector<double>& slopes) {
  constexpr double kMedianCurrent = 0.04, kMedianSlopes = 0.06;
  std::printf("median error, %s: plate current %.2f %% of %zu, gm mu rp %.2f %% of %zu\n", which,
              100 * median(currents), currents.size(), 100 * median(slopes), slopes.size());
  CHECK(median(currents) <= kMedianCurrent);
  CHECK(median(slopes) <= kMedianSlopes);
}

}  // namespace

TEST_CASE("all cards load, and the usual names of driver tubes are found") {
  CHECK(library().tubes().size() >= 24);
  const std::map<std::string, std::string> names{
      {"12AX7", "12AX7"},     {"ECC83", "12AX7"}, {"12AT7", "12AT7"},   {"ECC81", "12AT7"},
      {"12AU7", "12AU7"},     {"ecc82", "12AU7"}, {"6SN7", "6SN7GT"},   {"6SN7GT", "6SN7GT"},
      {"6SN7GTB", "6SN7GTB"}, {"6SL7", "6SL7GT"}, {"12BH7", "12BH7A"},  {"12BH7A", "12BH7A"},
      {"6DJ8", "6DJ8"},       {"ECC88", "6DJ8"},  {"E88CC", "E88CC"},   {"6922", "6922"},
      {"ECC85", "ECC85"},     {"6AQ8", "ECC85"},  {"12AY7", "12AY7"},   {"5751", "5751"},
      {"6CG7", "6CG7"},       {"6FQ7", "6CG7"},   {"ECC99", "ECC99"},   {"5687", "5687"},
      {"5965", "5965"},       {"6N1P", "6N1P"},   {"6N2P", "6N2P"},     {"6N6P", "6N6P"},
      {"12BZ7", "12BZ7"},     {"7025", "12AX7A"}, {"12AX7A", "12AX7A"}, {"12AU7A", "12AU7A"},
      {"12AV7", "12AV7"},     {"5670", "5670"},   {"2C51", "5670"}};
  for (const auto& [name, card] : names) {
    const auto& told = name;  // clang before 16 cannot capture a structured binding
    CAPTURE(told);
    const Tube* tube = library().find(name);
    REQUIRE(tube);
    CHECK(tube->name == card);
  }
}

TEST_CASE("every card has what a phase splitter needs to be judged by") {
  for (const Tube& tube : library().tubes()) {
    CAPTURE(tube.name);
    CHECK(tube.sections == (tube.pentode.given ? 1 : 2));
    CHECK(tube.ratings.heater_cathode_v_max_cathode_positive);  // the cathodes sit well above ground
    CHECK(tube.ratings.heater_cathode_v_max_cathode_negative);
    // Grid-current crossover of real tubes lies between 0 and -1 V (RDH4 ch. 2).
    CHECK(tube.grid_conduction_v.value <= 0);
    CHECK(tube.grid_conduction_v.value >= -1);
    CHECK(within_ratio(tube.grid_diode.current_a(tube.grid_conduction_v.value), GridDiode::kOnset_a, 1e-9));
    // A value that the sheet of the type does not print says so.
    const bool published = tube.grid_conduction_v.source.find("Philips E") != std::string::npos;
    const bool says_default = tube.grid_conduction_v.source.starts_with("default from common practice");
    CHECK((published || says_default));
    CHECK(tube.plate_current_spread_pct > 0);
    CHECK(tube.published_points.empty() == tube.pentode.given);
    CHECK(tube.pentode.points.empty() != tube.pentode.given);
    CHECK(read_tube(kFolder + "/" + tube.name + ".json").index() == 0);  // the file is called like the tube
  }
}

TEST_CASE("every card has its pins: both sections and the heater, as many as the socket has") {
  const std::map<std::string, std::size_t> sockets{{"noval", 9}, {"octal", 8}, {"7-pin miniature", 7}};
  for (const Tube& tube : library().tubes()) {
    CAPTURE(tube.name);
    REQUIRE(tube.base);
    const std::vector<Pin>& pins = tube.base->pins;
    REQUIRE(sockets.count(tube.base->socket) == 1);
    CHECK(pins.size() == sockets.at(tube.base->socket));
    for (const Pin electrode : {Pin::plate_1, Pin::grid_1, Pin::cathode_1})
      CHECK(std::count(pins.begin(), pins.end(), electrode) == 1);
    for (const Pin electrode : {Pin::plate_2, Pin::grid_2, Pin::cathode_2})
      CHECK(std::count(pins.begin(), pins.end(), electrode) == (tube.pentode.given ? 0 : 1));
    for (const Pin electrode : {Pin::screen, Pin::suppressor})
      CHECK(std::count(pins.begin(), pins.end(), electrode) == (tube.pentode.given ? 1 : 0));
    CHECK(std::count(pins.begin(), pins.end(), Pin::heater) == 2);
    // A heater that runs on 12.6 V too is tapped, and cards say so.
    const bool tapped = std::count(pins.begin(), pins.end(), Pin::heater_tap) == 1;
    CHECK(tapped == (tube.heater.source.find("in parallel") != std::string::npos));
    CHECK(tube.base->source.starts_with("from memory: "));
  }
}

TEST_CASE("the curves of a card are those that its first law was fitted to") {
  for (const Tube& tube : library().tubes()) {
    CAPTURE(tube.name);
    CHECK(has_curves(tube) == !tube.curve_files.empty());
    for (const std::string& file : tube.curve_files) {
      CAPTURE(file);
      CHECK(read_curve_points(kFolder + "/" + file).index() == 0);
      const std::string name = file.substr(file.rfind('/') + 1);
      CHECK(tube.models.front().source.find("configs/curves/" + name) != std::string::npos);
    }
  }
}

TEST_CASE("a source that leans on memory says so at its beginning") {
  const auto sound = [](const std::string& source) {
    const auto at = source.find("from memory");
    return at == std::string::npos || (at == 0 && source.starts_with("from memory: "));
  };
  for (const Tube& tube : library().tubes()) {
    CAPTURE(tube.name);
    const TubeRatings& r = tube.ratings;
    for (const auto& rating :
         {r.plate_v_max, r.plate_cold_v_max, r.plate_w_max, r.plates_total_w_max, r.cathode_current_a_max,
          r.heater_cathode_v_max_cathode_positive, r.heater_cathode_v_max_cathode_negative,
          r.heater_cathode_v_max_cathode_positive_dc, r.grid_leak_ohm_max_fixed_bias,
          r.grid_leak_ohm_max_self_bias, r.grid_v_negative_max})
      if (rating) CHECK(sound(rating->source));
    CHECK(sound(tube.heater.source));
    CHECK(sound(tube.capacitance.source));
    for (const PublishedPoint& p : tube.published_points) CHECK(sound(p.source));
  }
}

TEST_CASE("ratings hang together") {
  for (const Tube& tube : library().tubes()) {
    CAPTURE(tube.name);
    const TubeRatings& r = tube.ratings;
    if (r.plate_cold_v_max) CHECK(r.plate_cold_v_max->value >= r.plate_v_max->value);
    if (r.plates_total_w_max) {
      CHECK(r.plates_total_w_max->value <= 2 * r.plate_w_max->value);
      CHECK(r.plates_total_w_max->value >= r.plate_w_max->value);
    }
    if (r.heater_cathode_v_max_cathode_positive_dc)
      CHECK(r.heater_cathode_v_max_cathode_positive_dc->value <=
            r.heater_cathode_v_max_cathode_positive->value);
    for (const PublishedPoint& p : tube.published_points) {
      CHECK(p.plate_v <= r.plate_v_max->value);
      // Typical points are run within the rating, as far as it is rounded; a mere reading off a curve, for
      // which no bias is printed, may lie above it.
      if (grid_voltage_of(p)) CHECK(p.plate_v * *p.plate_current_a <= 1.1 * r.plate_w_max->value);
      if (p.gm_s && p.mu && p.rp_ohm) {
        CAPTURE(p.plate_v);
        CHECK(within_ratio(*p.gm_s * *p.rp_ohm, *p.mu, 0.12));  // mu = gm rp, as far as sheets round
      }
    }
  }
}

TEST_CASE("the first model of every card meets the published points") {
  // Wanted: median error of the plate current 4 %, of gm, mu and rp 6 %, none above 15 % unless the
  // notes of the card explain why.
  constexpr double kLargest = 0.15;
  // The curve pages of the 12AT7 sheet contradict each other near 100 V: see the notes on its card.
  const std::map<std::string, double> explained{{"12AT7", 0.19}};

  // A card that has nothing but its point meets it easily: those with plate curves are judged by themselves.
  std::vector<double> current_errors, slope_errors, curve_current_errors, curve_slope_errors;
  std::printf("%-8s %7s %9s  %-4s %10s %10s %7s\n", "tube", "plate V", "at", "", "sheet", "law", "error");
  for (const Tube& tube : library().tubes()) {
    CAPTURE(tube.name);
    const auto allowed = explained.find(tube.name);
    if (allowed != explained.end()) CHECK(tube.notes.find("disagree") != std::string::npos);
    const double largest = allowed == explained.end() ? kLargest : allowed->second;
    for (const FitObservation& o : observations_of(tube.published_points, 0)) {
      const auto is = characteristic_of(tube.law(), o);
      REQUIRE(is);
      const double error = *is / o.value - 1;
      CAPTURE(o.plate_v);
      CAPTURE(std::string(name_of(o.what)));
      char at[24];
      std::snprintf(at, sizeof at, o.grid_v ? "%.3g V" : "%.3g mA",
                    o.grid_v ? *o.grid_v : 1e3 * o.at_current_a);
      std::printf("%-8s %7.4g %9s  %-4s %10.4g %10.4g %+6.1f%%\n", tube.name.c_str(), o.plate_v, at,
                  name_of(o.what), o.value, *is, 100 * error);
      CHECK(std::abs(error) <= largest);
      const bool current = o.what == Characteristic::plate_current;
      (current ? current_errors : slope_errors).push_back(std::abs(error));
      if (has_curves(tube)) (current ? curve_current_errors : curve_slope_errors).push_back(std::abs(error));
    }
  }
  judge("all cards", current_errors, slope_errors);
  judge("cards fitted to plate curves", curve_current_errors, curve_slope_errors);
}

TEST_CASE(
    "every triode's card holds at least two credible laws, and a credible law meets the points of its card") {
  // 15 % is the spread that the cards state for plate current; slopes of single points are printed less
  // exactly than that on some sheets, so that theirs is a root mean square, and 20 % for one.
  constexpr double kCurrent = 0.15, kSlopesRms = 0.15, kSlope = 0.20;
  // Laws fitted to curves that the typical points of the same sheet contradict: see the notes on these cards.
  const std::map<std::string, std::string> explained{{"12AT7", "disagree"}};
  for (const Tube& tube : library().tubes()) {
    CAPTURE(tube.name);
    CHECK(tube.models.front().credible);
    if (tube.pentode.given) continue;  // output_law_test.cpp
    CHECK(std::count_if(tube.models.begin(), tube.models.end(),
                        [](const TubeModel& m) { return m.credible; }) >= 2);
    for (const TubeModel& model : tube.models) {
      if (!model.credible) continue;
      CAPTURE(model.source);
      double squares = 0, slopes = 0, largest = 0;
      for (const FitObservation& o : observations_of(tube.published_points, 0)) {
        const auto is = characteristic_of(model.law, o);
        REQUIRE(is);
        const double error = *is / o.value - 1;
        if (o.what == Characteristic::plate_current) {
          CHECK(std::abs(error) <= kCurrent);
        } else {
          squares += error * error, ++slopes;
          largest = std::max(largest, std::abs(error));
        }
      }
      if (const auto e = explained.find(tube.name); e != explained.end()) {
        CHECK(tube.notes.find(e->second) != std::string::npos);
        continue;
      }
      CHECK(std::sqrt(squares / std::max(1.0, slopes)) <= kSlopesRms);
      CHECK(largest <= kSlope);
    }
  }
}

TEST_CASE("a 12AT7 section at 105 V and -1.52 V draws about 2 mA") {
  // Common practice, no published source. The General Electric curves of 1957 read 4.0 mA at -1 V and
  // 0.79 mA at -2 V for this plate voltage.
  const Tube* tube = library().find("12AT7");
  REQUIRE(tube);
  CHECK(within_ratio(currents_at(tube->law(), -1.52, 105).plate_a, 2e-3, 0.1));
}

TEST_CASE("an offset does not make a law draw wild currents just above zero grid volts") {
  // The next half volt above zero may raise the current by no more than the half volt below it does,
  // times 1.5: real curves are nearly evenly spaced there.
  for (const Tube& tube : library().tubes()) {
    CAPTURE(tube.name);
    const double plate_v = 0.5 * tube.ratings.plate_v_max->value;
    const auto at = [&](double grid_v) { return currents_at(tube.law(), grid_v, plate_v).plate_a; };
    CHECK(at(0.5) - at(0) < 1.5 * (at(0) - at(-0.5)));
  }
}
