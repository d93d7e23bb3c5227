/// What every fuzz target needs: the shipped cards, and the bytes as text.
#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>

#include "configs/tube_library.h"

namespace antiphase::fuzz {

inline const TubeLibrary& library() {
  static const auto read = read_tube_library(ANTIPHASE_SOURCE "/configs/tubes");
  return std::get<TubeLibrary>(read);
}

inline std::string text_of(const std::uint8_t* bytes, std::size_t size) {
  return {reinterpret_cast<const char*>(bytes), size};
}

/// What must hold for every input; a broken promise is a finding.
inline void promise(bool kept) {
  if (!kept) std::abort();
}

/// A refusal names at least one fault, each in words.
template <class T>
void check_errors(const OrErrors<T>& read) {
  if (const auto* errors = std::get_if<InputErrors>(&read)) {
    promise(!errors->list.empty());
    for (const InputError& error : errors->list) promise(!error.what.empty());
    promise(!in_words(*errors).empty());
  }
}

}  // namespace antiphase::fuzz
