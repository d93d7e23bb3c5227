/// The catalogue of circuits: one line each. A name is the circuit's in files, that of its enumerator, and
/// that of the entry that its folder defines (catalogue.h).
#pragma once

// clang-format off
#define ANTIPHASE_CIRCUITS(line) \
  line(long_tailed_pair)         \
  line(common_cathode)           \
  line(gain_and_splitter)        \
  line(split_load)               \
  line(gain_and_split_load)      \
  line(paraphase)                \
  line(floating_paraphase)       \
  line(gain_and_paraphase)       \
  line(gain_and_floating_paraphase)
