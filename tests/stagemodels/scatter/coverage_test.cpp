// Do the bands hold? Each source is left out, what it says is predicted from all others, and what falls
// within is counted.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "tests/stagemodels/scatter/scatter_estimate.h"
#include "tests/stagemodels/scatter/sources.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

const std::vector<Source>& sources() {
  static const std::vector<Source> all = all_sources();
  return all;
}

struct Count {
  int asked = 0, half = 0, nine_tenths = 0, laws_asked = 0, laws = 0;
  std::set<std::string> said_by;

  void add(const Source& source, const Statement& s, const TypeScatter& t) {
    const double sd = predicted_sd(t, s);
    ++asked;
    half += std::abs(s.off) <= t.half * sd;
    nine_tenths += std::abs(s.off) <= t.nine_tenths * sd;
    laws_asked += s.asked_laws;
    laws += s.asked_laws && s.within_laws;
    said_by.insert(source.type + source.name);
  }
  double share(int held) const { return static_cast<double>(held) / std::max(1, asked); }
};

using Counts = std::map<std::string, Count>;

/// Worst first: by how far the band of nine tenths is from holding nine tenths.
void print(const char* of, const Counts& counts) {
  std::vector<std::pair<std::string, Count>> rows(counts.begin(), counts.end());
  std::stable_sort(rows.begin(), rows.end(), [](const auto& a, const auto& b) {
    const auto off = [](const Count& c) { return std::abs(c.share(c.nine_tenths) - 0.9); };
    return off(a.second) > off(b.second);
  });
  for (const auto& [name, c] : rows) {
    std::printf("  %s %-18s %3d statements of %2zu sources: 50 %% band holds %3.0f %%, 90 %% band %3.0f %%",
                of, name.c_str(), c.asked, c.said_by.size(), 100 * c.share(c.half),
                100 * c.share(c.nine_tenths));
    if (c.laws_asked > 0) std::printf("; between the credible laws %d of %d", c.laws, c.laws_asked);
    std::printf("\n");
  }
}

void print_mean(const Source& source) {
  std::map<std::string, std::pair<double, int>> mean;
  for (const Statement& s : source.statements)
    mean[name_of(s.what)].first += s.off, ++mean[name_of(s.what)].second;
  for (const auto& [kind, m] : mean)
    std::printf("; %s %+.0f %%", kind.c_str(), 100 * std::expm1(m.first / m.second));
  std::printf("\n");
}

/// How many statements of a published table its 90 % band covers at least. Where a table lies outside (the
/// printed gains of the Tung-Sol sheet contradict its own curves; the ECC82 table runs at a tenth of its
/// curves' currents) the count says how far.
int least_covered(const std::string& table) {
  const std::map<std::string, int> covered{{"Philips ECC83 table, Jan 1970", 57},
                                           {"General Electric table, Jun 1953", 17},
                                           {"Brimar report", 11},
                                           {"Philips ECC82 table, 1959", 73},
                                           {"RT-6922 table, 2012", 44},
                                           {"Tung-Sol table, 1945", 0}};
  const auto found = covered.find(table);
  return found == covered.end() ? 0 : found->second;
}

/// Statements of one source hang together: for chance, each source counts once.
void hold(const Count& c, double share, double low, double high, double nominal) {
  const double chance = 2 * std::sqrt(nominal * (1 - nominal) / static_cast<double>(c.said_by.size()));
  CHECK(share >= low - chance);
  CHECK(share <= high + chance);
}

}  // namespace

TEST_CASE("left-out sources fall within the bands as often as these say") {
  Counts by_kind, by_type;
  Count all;
  std::printf(
      "\nleft-out source: statements, in the 50 %% and in the 90 %% band; printed over predicted, mean of "
      "each kind\n");
  for (std::size_t out = 0; out < sources().size(); ++out) {
    std::vector<Source> rest = sources();
    rest.erase(rest.begin() + static_cast<std::ptrdiff_t>(out));
    const TypeScatter scatter = estimated(rest);
    const Source& left_out = sources()[out];
    REQUIRE_FALSE(left_out.statements.empty());
    Count here;
    for (const Statement& s : left_out.statements)
      for (Count* count : {&here, &all, &by_kind[name_of(s.what)], &by_type[left_out.type]})
        count->add(left_out, s, scatter);
    std::printf("  %-7s %s: %d, %d, %d", left_out.type.c_str(), left_out.name.c_str(), here.asked, here.half,
                here.nine_tenths);
    print_mean(left_out);
    CAPTURE(left_out.name);
    CHECK(here.nine_tenths >= least_covered(left_out.name));
  }
  print("of type", by_type);
  print("of kind", by_kind);
  print("of", {{"everything", all}});
  // What is asked of bands: 45 to 60 % and 85 to 97 % of all statements.
  CHECK(all.asked >= 400);
  CHECK(all.share(all.half) >= 0.45);
  CHECK(all.share(all.half) <= 0.60);
  CHECK(all.share(all.nine_tenths) >= 0.85);
  CHECK(all.share(all.nine_tenths) <= 0.97);
  CHECK(by_kind.size() == kSaidKinds);
  for (const auto& [kind, c] : by_kind) {
    CAPTURE(kind);
    hold(c, c.share(c.half), 0.45, 0.60, 0.5);
    hold(c, c.share(c.nine_tenths), 0.85, 0.97, 0.9);
  }
}

TEST_CASE("the scatter that the program uses is that of all sources") {
  const TypeScatter now = estimated(sources()), used = kTypeScatter;
  std::printf(
      "\nscatter between sources, sd of logarithms: current %.3f, mu %.3f, distortion %.3f; left of one "
      "statement: current "
      "%.3f, current of a stage %.3f, gm mu rp %.3f, gain %.3f, distortion %.3f, swing %.3f; half within "
      "%.3f sd, nine "
      "tenths within %.3f\n",
      now.current, now.mu, now.bend, now.said_current, now.said_stage_current, now.said_slope, now.said_gain,
      now.said_distortion, now.said_swing, now.half, now.nine_tenths);
  // Three decimals stand in the header; fits of another processor move the third a little.
  constexpr double kRounding = 0.002;
  for (double TypeScatter::*member :
       {&TypeScatter::current, &TypeScatter::mu, &TypeScatter::bend, &TypeScatter::said_current,
        &TypeScatter::said_stage_current, &TypeScatter::said_slope, &TypeScatter::said_gain,
        &TypeScatter::said_distortion, &TypeScatter::said_swing, &TypeScatter::half,
        &TypeScatter::nine_tenths})
    CHECK(within(now.*member, used.*member, kRounding + 0.01 * used.*member));
}

TEST_CASE("the estimate finds the scatter that sources were drawn with") {
  // Two hundred made-up sources with standard deviations 0.1, 0.05 and 0.3 between them and 0.04 of each
  // statement: a variance from n values is known to sqrt(2 / n), so each standard deviation to 1 / sqrt(2 n)
  // = 5 %; three times that, and `few` adds 0.5 %.
  std::vector<Source> made;
  std::uint64_t state = 1;
  const auto normal = [&] {
    double sum = -6;
    for (int k = 0; k < 12; ++k) {
      state = state * 6364136223846793005ULL + 1442695040888963407ULL;
      sum += static_cast<double>(state >> 11) * 0x1p-53;
    }
    return sum;
  };
  for (int n = 0; n < 200; ++n) {
    Source source{"made", std::to_string(n), {}};
    const double c = 0.1 * normal(), m = 0.05 * normal(), b = 0.3 * normal();
    for (int k = 0; k < 6; ++k) {
      source.statements.push_back({Said::current, c + 2 * m + 0.04 * normal(), 1, 2, false, false});
      source.statements.push_back({Said::mu, m + 0.04 * normal(), 0, 1, false, false});
      source.statements.push_back({Said::distortion, b + 0.04 * normal(), 0, 0, false, false});
    }
    made.push_back(source);
  }
  const TypeScatter t = estimated(made);
  CHECK(within_ratio(t.current, 0.1, 0.16));
  CHECK(within_ratio(t.mu, 0.05, 0.16));
  CHECK(within_ratio(t.bend, 0.3, 0.16));
  for (const double own : {t.said_current, t.said_slope, t.said_distortion})
    CHECK(within_ratio(own, 0.04, 0.07));
  CHECK(within_ratio(t.half, 0.674, 0.1));
  CHECK(within_ratio(t.nine_tenths, 1.645, 0.1));
}
