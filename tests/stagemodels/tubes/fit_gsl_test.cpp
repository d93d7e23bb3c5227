// The least-squares fit against the GNU Scientific Library, which shares no code with it: same readings, same
// weights, plain squares, other parameters (logarithms, unbounded), other optimizer, other derivatives.
#ifdef ANTIPHASE_GSL
#include <doctest/doctest.h>
#include <gsl/gsl_blas.h>
#include <gsl/gsl_multifit_nlinear.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include "configs/curve_points.h"
#include "configs/tube_library.h"
#include "stagemodels/tubes/fit_data.h"
#include "tests/support/within.h"

using namespace antiphase;

namespace {

constexpr std::size_t kParameters = 6;

Koren1996 law_of(const gsl_vector* x) {
  const auto e = [&](std::size_t k) { return std::exp(gsl_vector_get(x, k)); };
  return {e(0), e(1), e(2), e(3), e(4), gsl_vector_get(x, 5)};
}

int residuals(const gsl_vector* x, void* given, gsl_vector* r) {
  const auto& observations = *static_cast<const std::vector<FitObservation>*>(given);
  const TriodeLaw law = law_of(x);
  for (std::size_t k = 0; k < observations.size(); ++k) {
    const FitObservation& o = observations[k];
    gsl_vector_set(r, k, (currents_at(law, *o.grid_v, o.plate_v).plate_a - o.value) / o.uncertainty);
  }
  return GSL_SUCCESS;
}

struct Independent {
  Koren1996 law;
  double half_squares = 0;
  std::array<double, kParameters> standard_errors{};
};

Independent by_gsl(const Koren1996& start, std::vector<FitObservation>& observations) {
  const std::size_t n = observations.size();
  gsl_vector* x = gsl_vector_alloc(kParameters);
  const double values[] = {start.mu, start.ex, start.kg1, start.kp, start.kvb};
  for (std::size_t k = 0; k < 5; ++k) gsl_vector_set(x, k, std::log(values[k]));
  gsl_vector_set(x, 5, start.vct);
  gsl_multifit_nlinear_fdf problem{};
  problem.f = residuals;
  problem.n = n;
  problem.p = kParameters;
  problem.params = &observations;
  gsl_multifit_nlinear_parameters options = gsl_multifit_nlinear_default_parameters();
  options.fdtype = GSL_MULTIFIT_NLINEAR_CTRDIFF;
  auto* work = gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &options, n, kParameters);
  gsl_multifit_nlinear_init(x, &problem, work);
  int info = 0;
  CHECK(gsl_multifit_nlinear_driver(500, 1e-13, 1e-13, 0, nullptr, nullptr, &info, work) == GSL_SUCCESS);
  Independent found;
  found.law = law_of(gsl_multifit_nlinear_position(work));
  const gsl_vector* r = gsl_multifit_nlinear_residual(work);
  double squares = 0;
  gsl_blas_ddot(r, r, &squares);
  found.half_squares = squares / 2;
  gsl_matrix* covariance = gsl_matrix_alloc(kParameters, kParameters);
  gsl_multifit_nlinear_covar(gsl_multifit_nlinear_jac(work), 0, covariance);
  const double variance = squares / static_cast<double>(n - kParameters);
  const double scale[] = {found.law.mu, found.law.ex, found.law.kg1, found.law.kp, found.law.kvb, 1};
  for (std::size_t k = 0; k < kParameters; ++k)
    found.standard_errors[k] = scale[k] * std::sqrt(variance * gsl_matrix_get(covariance, k, k));
  gsl_matrix_free(covariance);
  gsl_multifit_nlinear_free(work);
  gsl_vector_free(x);
  return found;
}

}  // namespace

TEST_CASE("an independent least-squares library finds the same law and the same uncertainties") {
  // Sheets whose best law lies inside the usual ranges, so that bounds play no part.
  const std::pair<const char*, const char*> sheets[] = {
      {"12AT7_GE_1957", "12AT7"}, {"12AX7_TungSol_1947", "12AX7"}, {"ECC85_Philips_1969", "ECC85"}};
  const auto library = read_tube_library(ANTIPHASE_SOURCE "/configs/tubes");
  REQUIRE(std::holds_alternative<TubeLibrary>(library));
  for (const auto& [file, name] : sheets) {
    const auto& told = file;  // clang before 16 cannot capture a structured binding
    CAPTURE(told);
    const auto read = read_curve_points(std::string(ANTIPHASE_SOURCE "/configs/curves/") + file + ".csv");
    REQUIRE(std::holds_alternative<CurveFile>(read));
    const Tube& tube = *std::get<TubeLibrary>(library).find(name);
    const auto& points = std::get<CurveFile>(read).points;
    std::vector<FitObservation> observations =
        observations_of(points, typical_current_a(tube.published_points, points));
    FitOptions options;
    options.robust_from = 0;
    const FitOutcome ours = fit_law(Koren1996{}, observations, options);
    REQUIRE(ours.stop == FitStop::fitted);
    // Theirs starts off our answer, or it may end in another valley.
    Koren1996 start = std::get<Koren1996>(ours.law);
    start.mu *= 1.05, start.ex *= 0.97, start.kg1 *= 1.1, start.kp *= 0.9, start.kvb *= 1.2,
        start.vct -= 0.05;
    const Independent theirs = by_gsl(start, observations);
    std::printf("%s: half the squares %.9g, GSL %.9g\n", file, ours.cost, theirs.half_squares);
    CHECK(within_ratio(ours.cost, theirs.half_squares, 1e-8));
    const auto fields = Koren1996::fields();
    for (std::size_t k = 0; k < fields.size(); ++k) {
      CAPTURE(std::string(fields[k].name));
      const double ours_is = std::get<Koren1996>(ours.law).*fields[k].member;
      REQUIRE(ours.parameters[k].standard_error);
      CHECK(within(ours_is, theirs.law.*fields[k].member, 1e-3 * *ours.parameters[k].standard_error));
      // Two sets of difference quotients, each good to some 1e-6.
      CHECK(within_ratio(*ours.parameters[k].standard_error, theirs.standard_errors[k], 1e-3));
    }
  }
}
#endif
