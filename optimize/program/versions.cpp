#include "optimize/program/versions.h"

#include <nlopt.h>
#include <tbb/version.h>

#include <CLI/Version.hpp>
#include <Eigen/Core>
#include <nlohmann/json.hpp>

namespace antiphase {

std::vector<std::pair<std::string, std::string>> versions() {
  int major = 0, minor = 0, bugfix = 0;
  nlopt_version(&major, &minor, &bugfix);
  const auto dotted = [](int a, int b, int c) {
    return std::to_string(a) + "." + std::to_string(b) + "." + std::to_string(c);
  };
  return {
      {"antiphase", ANTIPHASE_VERSION},
      {"compiler", __VERSION__},
      {"NLopt", dotted(major, minor, bugfix)},
      {"oneTBB", dotted(TBB_VERSION_MAJOR, TBB_VERSION_MINOR, TBB_VERSION_PATCH)},
      {"Eigen", dotted(EIGEN_WORLD_VERSION, EIGEN_MAJOR_VERSION, EIGEN_MINOR_VERSION)},
      {"nlohmann_json",
       dotted(NLOHMANN_JSON_VERSION_MAJOR, NLOHMANN_JSON_VERSION_MINOR, NLOHMANN_JSON_VERSION_PATCH)},
      {"CLI11", CLI11_VERSION},
  };
}

}  // namespace antiphase
