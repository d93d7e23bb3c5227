/// The table of methods. A new one is a pair of files here and one line in catalogue.cpp.
#pragma once

#include <span>
#include <string_view>

#include "optimize/engine/methods/method.h"

namespace antiphase::engine {

std::span<const Method> methods();

/// Null if there is none of that name.
const Method* method_named(std::string_view name);

}  // namespace antiphase::engine
