/// The worst of many comparisons of one figure, for the table that a test prints.
#pragma once

#include <cmath>
#include <cstdio>
#include <string>

namespace antiphase::reference {

class Worst {
 public:
  Worst(const char* name, double absolute, double relative)
      : name_(name), absolute_(absolute), relative_(relative) {}

  /// True if |got - want| is within the larger of both tolerances. NaN never is.
  bool keeps(double got, double want, const std::string& where) {
    ++compared_;
    const double allowed = std::fmax(absolute_, relative_ * std::abs(want));
    double share = got == want ? 0 : std::abs(got - want) / allowed;
    if (!std::isfinite(share)) share = 1e300;
    if (share > share_) {
      share_ = share;
      got_ = got;
      want_ = want;
      where_ = where;
    }
    return share <= 1;
  }

  std::string line() const {
    char text[300];
    std::snprintf(text, sizeof text, "  %-44s %12.6g %12.6g %9.2f %%  %s, of %d\n", name_, got_, want_,
                  100 * share_, where_.c_str(), compared_);
    return text;
  }
  static std::string head() {
    return "worst of each: solver, independent, share of what is allowed, where\n";
  }

 private:
  const char* name_;
  double absolute_, relative_, share_ = -1, got_ = 0, want_ = 0;
  std::string where_;
  int compared_ = 0;
};

}  // namespace antiphase::reference
