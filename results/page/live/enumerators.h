/// How many enumerators an enum has, without a list of them kept by hand.
#pragma once

#include <cstddef>
#include <string_view>

namespace antiphase {

/// True if the enum names this value: compilers write a value without a name as a cast, "(Form)3".
template <auto Value>
constexpr bool is_enumerator() {
  const std::string_view function = __PRETTY_FUNCTION__;  // gcc and clang: "… [with auto Value = Form::one]"
  return function.substr(function.rfind('=')).find('(') == std::string_view::npos;
}

/// Enumerators of an enum whose values run from 0 without a gap.
template <class Enum, std::size_t From = 0>
constexpr std::size_t enumerators() {
  if constexpr (is_enumerator<static_cast<Enum>(From)>())
    return enumerators<Enum, From + 1>();
  else
    return From;
}

}  // namespace antiphase
