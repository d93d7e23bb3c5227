#include "tests/rivals/front/judgements.h"

#include <optional>
#include <utility>

namespace antiphase::engine::rivals::front {

Judgements::Judgements(const FrontTask& task, const Places& places, Population& population)
    : task_(task),
      places_(places),
      population_(population),
      recorder_(*task.base.problem, task.base.evaluations, task.base.stop, task.base.seen),
      archive_(task.base.problem->objectives),
      x_(task.base.problem->axes.size()) {}

Verdict Judgements::offer(std::vector<double> u, std::vector<double> by, Judged* told) {
  answered_ = false;
  places_.cube().to_x(u, x_);
  if (!asked_.insert(x_).second) return Verdict::known;  // by x: places a rounding apart are one point
  std::optional<Judged> judged;
  bool from_memory = false;
  if (task_.known) from_memory = (judged = task_.known(x_)).has_value();
  if (!judged) {
    if (!recorder_.may_ask()) return Verdict::known;
    judged = recorder_.ask(x_);
  }
  any_ = answered_ = true;
  if (told) *told = *judged;
  archive_.insert({x_, *judged, 0});
  if (!judged->feasible()) population_.keep_outside({u, {}, *judged, 0, 0});
  if (population_.enter({std::move(u), std::move(by), *judged, 0, 0}, made())) return Verdict::stayed;
  return from_memory ? Verdict::known : Verdict::went;
}

FrontFound Judgements::found() const {
  return {recorder_.ended(Ended::converged), archive_.members(), recorder_.evaluations()};
}

}  // namespace antiphase::engine::rivals::front
