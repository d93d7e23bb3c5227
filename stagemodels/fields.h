/// A struct lists its own numbers once: name, unit, meaning, member and allowed range.
/// Readers, writers, messages and help texts are all made from this list.
#pragma once

#include <array>
#include <string_view>

namespace antiphase {

template <class T>
struct Field {
  std::string_view name;
  std::string_view unit;  ///< SI, "1" for a pure number
  std::string_view description;
  double T::*member;
  double low, high;  ///< allowed range, both ends included
};

/// The same for a list of N numbers with one range.
template <class T, std::size_t N>
struct ListField {
  std::string_view name, unit, description;
  std::array<double, N> T::*member;
  double low, high;
  static constexpr std::size_t size = N;
};

}  // namespace antiphase
