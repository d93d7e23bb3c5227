/// The equations of a circuit's cycle as a list of operations, made when the circuit is first asked for.
///
/// The list does at every instant what list_solver.h has the compiler unroll, operation by operation and in
/// the same order, so that both give the same numbers to the last bit; each operation is done for a block of
/// instants side by side. A circuit solved by its tape needs no code of its own and costs nothing to
/// compile. It takes longer to solve: nothing printed holds by how much.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "stagemodels/circuits/coefficients.h"

namespace antiphase {

/// Places are numbers of slots, each a block of instants.
struct TapeStep {
  enum class What : std::uint8_t {
    still,             ///< to = still[a]
    linear,            ///< to = linear[a]
    add_linear,        ///< to += linear[a]
    add_linear_times,  ///< to += linear[a] * b
    copy,              ///< to = a
    negate,            ///< to = -a
    add,               ///< to += a
    subtract,          ///< to -= a
    sum,               ///< to = a + b
    scaled,            ///< to = a * scale[b]
    scale,             ///< to *= scale[a]
    times,             ///< to *= a
    inverse,           ///< to = 1 / a
    product,           ///< to = a * b
    negative_product,  ///< to = -(a * b)
    add_product,       ///< to += a * b
    subtract_product,  ///< to -= a * b
    add_to_mean,       ///< mean[to] += weight * a
  };
  What what{};
  std::uint16_t to = 0, a = 0, b = 0;
};

/// Where what goes in and comes out of the list stands. Rows and columns as in Shape.
struct Tape {
  static constexpr int kMostSlots = 900, kMostMeans = 220;

  std::vector<TapeStep> step;
  std::size_t filled_in = 0;  ///< so many steps give the equations; the others eliminate the nodes
  int slots = 0, means = 0;
  /// In: the unknown nodes, then the cosine and the source's voltage; of each section its plate and grid
  /// current and their three slopes; of each output grid its current and slope; of a screen its current and
  /// the slopes of Shape::term.
  int node_in = 0, cosine_in = 0, source_in = 0, section_in = 0, grid_in = 0, screen_in = 0;
  static constexpr int kPerSection = 5, kPerGrid = 2, kPerScreen = 1 + Shape::kPerScreen;
  /// Out, of each node: F, and after elimination F_x^-1 F; then the columns of F_x^-1 F_y that are not zero.
  std::vector<std::uint16_t> residual;
  struct Column {
    std::uint8_t node, still;
    std::uint16_t slot;
  };
  std::vector<Column> columns;
  /// Which mean stands in the border's row and column (the last column: its right side before the mean of g
  /// is taken away), and which is the mean of g; -1: it is zero.
  std::vector<std::int16_t> border;  ///< still x (still + 1), by rows
  std::vector<std::int16_t> mean_of_g;
};

/// Cost: some 50 us.
Tape make_tape(const Shape&);

}  // namespace antiphase
