/// What a front method asks through: no point twice, everything judged goes into archive and population.
#pragma once

#include <set>
#include <vector>

#include "optimize/engine/pareto/archive.h"
#include "optimize/engine/recorder.h"
#include "tests/rivals/front/cube_places.h"
#include "tests/rivals/front/population.h"
#include "tests/rivals/front_method.h"

namespace antiphase::engine::rivals::front {

enum class Verdict {
  known,  ///< asked before, told from memory without staying, or nothing more may be asked
  went,   ///< judged, and found no place among the members
  stayed
};

class Judgements {
 public:
  /// All three must outlive it.
  Judgements(const FrontTask& task, const Places& places, Population& population);

  /// `by`: the step from its parent. `told`, if given, gets the judgement if there was one: see answered().
  Verdict offer(std::vector<double> u, std::vector<double> by, Judged* told = nullptr);

  bool answered() const { return answered_; }  ///< the last offer was judged or known from memory
  bool any() const { return any_; }            ///< something was judged or known from memory
  bool may_ask() const { return recorder_.may_ask(); }
  int made() const { return recorder_.evaluations(); }
  int left() const { return recorder_.left(); }

  FrontFound found() const;

 private:
  const FrontTask& task_;
  const Places& places_;
  Population& population_;
  Recorder recorder_;
  Archive archive_;
  std::set<std::vector<double>> asked_;
  std::vector<double> x_;
  bool answered_ = false, any_ = false;
};

}  // namespace antiphase::engine::rivals::front
