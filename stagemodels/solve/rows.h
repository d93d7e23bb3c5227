/// Arithmetic on rows of instants, in wide vectors where the processor has them.
/// Rows stand at a fixed distance of kMaxInstants doubles; only the first `count` entries are used.
#pragma once

#include "stagemodels/tubes/currents.h"

namespace antiphase::rows {

/// Partial sums kept by every sum, whatever the vector width: the order of addition is fixed.
inline constexpr int kLanes = 8;

double dot(const double* a, const double* b, int count);
/// out[r] = sum of weight and row r, for `rows` rows that follow each other.
void dots(const double* weight, const double* first, int rows, int count, double* out);
double largest_size(const double* a, int count);  ///< max |a|; NaN or infinity give infinity

/// Gauss-Jordan elimination of every instant's block, without pivoting.
/// F_x: #L by #L rows, F: #L rows, F_y: #L by #B rows; F and F_y become F_x^-1 F and F_x^-1 F_y.
void eliminate(int L, int B, int count, double* F_x, double* F, double* F_y);

/// x = from + share * step, step = -f - sum over b of y[b] dy[b], for #L rows.
/// @return the largest |step|; infinity if any is not finite.
double move(int L, int B, int count, const double* from, const double* f, const double* f_y, const double* dy,
            double share, double* x);

}  // namespace antiphase::rows
