/// Lists of numbers as the program writes them and the page's solver reads them, by the same functions:
/// `io.number(x)` takes a number either way. A text is its length and its bytes; an optional is 1 and itself
/// or 0; a list is its length and its members; an enum is its place.
#pragma once

#include <cmath>
#include <cstddef>
#include <optional>
#include <string>
#include <type_traits>
#include <utility>
#include <vector>

#include "results/page/live/enumerators.h"
#include "stagemodels/tubes/sourced.h"

namespace antiphase {

class LiveWriter {
 public:
  static constexpr bool kReads = false;
  void number(double& v) { numbers_.push_back(v); }
  std::vector<double> take() && { return std::move(numbers_); }
  std::size_t count() const { return numbers_.size(); }
  bool good() const { return true; }
  void refuse() {}

 private:
  std::vector<double> numbers_;
};

class LiveReader {
 public:
  static constexpr bool kReads = true;
  LiveReader(const double* numbers, std::size_t count) : next_(numbers), left_(count) {}
  void number(double& v) {
    if (left_ == 0) {
      good_ = false;
      v = 0;
      return;
    }
    v = *next_++;
    --left_;
  }
  bool good() const { return good_; }
  std::size_t left() const { return left_; }
  void refuse() { good_ = false; }  ///< what was read cannot be what a program wrote

 private:
  const double* next_;
  std::size_t left_;
  bool good_ = true;
};

template <class Io, class Whole>
void pass_whole(Io& io, Whole& v) {
  double number = static_cast<double>(v);
  io.number(number);
  if constexpr (Io::kReads) {
    const bool whole = std::abs(number) < 9e15;  // what a double counts by ones
    if (!whole) io.refuse();
    v = static_cast<Whole>(whole ? static_cast<long long>(number) : 0);
  }
}

/// A place that is no enumerator's is refused.
template <class Io, class Enum>
void pass_enum(Io& io, Enum& v) {
  auto place = static_cast<long long>(v);
  pass_whole(io, place);
  if constexpr (Io::kReads) {
    const bool known = place >= 0 && static_cast<std::size_t>(place) < enumerators<Enum>();
    if (!known) io.refuse();
    v = known ? static_cast<Enum>(place) : Enum{};
  }
}

/// Lengths are held to what such a list can have, so that a damaged page asks for no giant.
inline constexpr std::size_t kMostOfAList = 100000;

template <class Io, class List, class Each>
void pass_list(Io& io, List& list, Each each) {
  std::size_t count = list.size();
  pass_whole(io, count);
  if constexpr (Io::kReads) list.resize(io.good() && count <= kMostOfAList ? count : 0);
  for (auto& item : list) each(item);
}

inline void pass_byte(auto& io, char& c) {
  auto byte = static_cast<unsigned char>(c);
  pass_whole(io, byte);
  c = static_cast<char>(byte);
}

template <class T>
struct IsOptional : std::false_type {};
template <class T>
struct IsOptional<std::optional<T>> : std::true_type {};

/// One member, by its type. Of a number with its source the number alone.
template <class Io, class T>
void pass(Io& io, T& v) {
  if constexpr (std::is_same_v<T, double>) {
    io.number(v);
  } else if constexpr (std::is_enum_v<T>) {
    pass_enum(io, v);
  } else if constexpr (std::is_integral_v<T>) {
    pass_whole(io, v);
  } else if constexpr (std::is_same_v<T, Sourced>) {
    io.number(v.value);
  } else if constexpr (std::is_same_v<T, std::string>) {
    pass_list(io, v, [&](char& c) { pass_byte(io, c); });
  } else if constexpr (IsOptional<T>::value) {
    bool given = v.has_value();
    pass_whole(io, given);
    if constexpr (Io::kReads) v = given ? T(typename T::value_type{}) : std::nullopt;
    if (v) pass(io, *v);
  } else if constexpr (requires { v.resize(1); }) {
    pass_list(io, v, [&](auto& item) { pass(io, item); });
  } else {
    pass_members(io, v);  // live_fields.h
  }
}

/// Several members in this order.
template <class Io, class... T>
void pass_each(Io& io, T&... members) {
  (pass(io, members), ...);
}

}  // namespace antiphase
