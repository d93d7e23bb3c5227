/// What this program is made of, for run records and `--version`.
#pragma once

#include <string>
#include <utility>
#include <vector>

namespace antiphase {

std::vector<std::pair<std::string, std::string>> versions();

}  // namespace antiphase
