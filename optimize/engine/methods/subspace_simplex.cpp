#include "optimize/engine/methods/subspace_simplex.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <exception>
#include <functional>
#include <new>
#include <nlopt.hpp>
#include <optional>
#include <stdexcept>
#include <utility>

#include "optimize/engine/unit_cube.h"

namespace antiphase::engine {
namespace {

// Finite with room for a model's squares and sums; above every honest merit.
constexpr double kWorstMerit = 1e60;
// Answers to a non-finite x cost no evaluation, so they need an end of their own.
constexpr int kMostRefusals = 1000;
constexpr double kTolerance = 1e-6;  // of the unit cube; a preferred part is 1e-2 from the next

double bounded(double merit) {
  return std::isfinite(merit) ? std::clamp(merit, -kWorstMerit, kWorstMerit) : kWorstMerit;
}

/// One library run after the other on the same recorder.
class Adapter {
 public:
  explicit Adapter(const MethodTask& task)
      : cube_(*task.problem),
        recorder_(*task.problem, task.evaluations, task.stop, task.seen),
        x_(task.problem->axes.size()) {}

  const UnitCube& cube() const { return cube_; }
  Recorder& recorder() { return recorder_; }

  struct Incumbent {
    std::vector<double> u;
    Judged judged;
  };

  struct Run {
    std::optional<Incumbent> least;  ///< the point of least merit seen in this run; empty if there was none
    bool converged = false;          ///< the library stopped by its own tolerance
  };

  /// Runs the method from `start` for at most `evaluations`; the first step is `step` of the unit cube.
  template <class Merit>
  Run run(std::vector<double> start, double step, int evaluations, const Merit& merit) {
    std::optional<Incumbent> least;
    double least_merit = 0;
    int refusals = 0;
    std::exception_ptr failure;
    const int last = recorder_.evaluations() + std::min(evaluations, recorder_.left());
    const nlopt::vfunc ask = [](const std::vector<double>& u, std::vector<double>&, void* self) {
      return (*static_cast<std::function<double(const std::vector<double>&)>*>(self))(u);
    };
    std::function<double(const std::vector<double>&)> body = [&](const std::vector<double>& u) {
      if (recorder_.evaluations() >= last || !recorder_.may_ask()) throw nlopt::forced_stop();
      for (const double t : u)
        if (!std::isfinite(t)) {
          if (++refusals >= kMostRefusals) throw nlopt::forced_stop();
          return kWorstMerit;
        }
      try {
        cube_.to_x(u, x_);
        const Judged judged = recorder_.ask(x_);
        const double m = bounded(merit(judged));
        if (!least || m < least_merit) {
          least = Incumbent{u, judged};
          least_merit = m;
        }
        return m;
      } catch (...) {
        failure = std::current_exception();  // the library would turn it into "nlopt failure"
        throw nlopt::forced_stop();
      }
    };

    nlopt::opt search(nlopt::LN_SBPLX, static_cast<unsigned>(cube_.size()));
    search.set_lower_bounds(0);
    search.set_upper_bounds(1);
    search.set_min_objective(ask, &body);
    search.set_maxeval(std::max(1, evaluations));
    search.set_xtol_abs(kTolerance);
    search.set_initial_step(step);
    bool converged = false;
    try {
      double ignored = 0;
      converged = search.optimize(start, ignored) != nlopt::MAXEVAL_REACHED;
    } catch (const nlopt::roundoff_limited&) {
      converged = true;
    } catch (const nlopt::forced_stop&) {
    } catch (const std::bad_alloc&) {
      throw;
    } catch (const std::runtime_error&) {
      // "nlopt failure": the run is over; the recorder still holds what was found.
    }
    if (failure) std::rethrow_exception(failure);
    return {std::move(least), converged};
  }

  Found found(bool converged) {
    const Ended otherwise = converged ? Ended::converged : Ended::budget_spent;
    return {recorder_.ended(otherwise), recorder_.best(), {}, recorder_.evaluations()};
  }

 private:
  UnitCube cube_;
  Recorder recorder_;
  std::vector<double> x_;
};

/// A box with nothing free is one point.
Found only_point(Adapter& adapter) {
  if (adapter.recorder().may_ask()) adapter.recorder().ask(adapter.cube().to_x({}));
  return adapter.found(true);
}

std::vector<double> first_start(const MethodTask& task, const UnitCube& cube) {
  return task.starts.empty() ? std::vector<double>(cube.size(), 0.5) : cube.to_unit(task.starts[0]);
}

struct Round {
  double weight;  ///< of the violation, over max(1, |cost at the start|)
  double step;    ///< first step, of the unit cube
  double share;   ///< of the budget that is left
};
constexpr std::array kRounds{Round{3, 0.08, 0.5}, Round{30, 0.03, 0.6}, Round{300, 0.01, 1.0}};

}  // namespace

Found subspace_simplex(const MethodTask& task) {
  nlopt::srand(static_cast<unsigned long>(task.seed));
  Adapter adapter(task);
  if (adapter.cube().size() == 0) return only_point(adapter);
  Recorder& recorder = adapter.recorder();
  if (!recorder.may_ask()) return adapter.found(false);

  Adapter::Incumbent from{first_start(task, adapter.cube()), {}};
  from.judged = recorder.ask(adapter.cube().to_x(from.u));
  const double cost_scale = std::max(1.0, std::abs(from.judged.cost));
  bool converged = false;
  for (const Round& round : kRounds) {
    if (!recorder.may_ask()) break;
    const double weight = round.weight * cost_scale;
    const auto penalty = [weight](const Judged& j) { return j.cost + weight * j.violation; };
    // The best point so far and the last round's end are both judged; start from the one that the
    // present weight likes more.
    const Point& best = *recorder.best();
    if (bounded(penalty(best.judged)) < bounded(penalty(from.judged)))
      from = {adapter.cube().to_unit(best.x), best.judged};
    const int evaluations = std::max(1, static_cast<int>(round.share * recorder.left()));
    const Adapter::Run run = adapter.run(from.u, round.step, evaluations, penalty);
    converged = run.converged;
    if (run.least && bounded(penalty(run.least->judged)) < bounded(penalty(from.judged))) from = *run.least;
  }
  return adapter.found(converged);
}

}  // namespace antiphase::engine
