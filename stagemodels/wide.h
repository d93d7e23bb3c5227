/// Wide vectors, chosen at run time.
///
/// A function marked ANTIPHASE_WIDE is compiled for plain x86-64, for 256-bit and for 512-bit vectors;
/// the loader picks the widest that the processor has. Elsewhere the mark means nothing. Sums are
/// written with fixed partial sums (see solve/rows.h), so that all three add in the same order; what is
/// left between them is rounding in exp and log (a few units in the last place).
#pragma once

#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) && defined(__linux__) && \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__) && !defined(ANTIPHASE_PLAIN)
#define ANTIPHASE_WIDE __attribute__((target_clones("default", "arch=x86-64-v3", "arch=x86-64-v4")))
#define ANTIPHASE_VECTOR_MATH 1
#else
#define ANTIPHASE_WIDE
#define ANTIPHASE_VECTOR_MATH 0
#endif
