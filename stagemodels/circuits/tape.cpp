#include "stagemodels/circuits/tape.h"

#include <array>
#include <cassert>

namespace antiphase {
namespace {

using What = TapeStep::What;

/// Letters as in list_solver.h: x and y the unknowns, F the currents at each instant, g what has no mean over
/// the cycle, F_x ... g_y derivatives, e an entry of them.
class Writer {
 public:
  explicit Writer(const Shape& shape) : s_(shape), locals_(shape.locals), still_(shape.still) {
    for (auto& row : place_) row.fill(kZero);
  }

  Tape write() {
    take_in();
    for (int r = 0; r < s_.unknowns(); ++r)
      if (r != locals_) {  // the row of the drive is the drive condition
        equation(r);
        for (int j = 0; j < s_.unknowns(); ++j) derivative(r, j);
      }
    tape_.filled_in = tape_.step.size();
    for (int p = 0; p < locals_; ++p) eliminate(p);
    give_out();
    border();
    assert(tape_.slots <= Tape::kMostSlots && tape_.means <= Tape::kMostMeans);
    return tape_;
  }

 private:
  static constexpr int kZero = -1;
  static std::uint16_t narrow(int v) { return static_cast<std::uint16_t>(v); }
  int slot() { return tape_.slots++; }
  void add(What what, int to, int a = 0, int b = 0) {
    tape_.step.push_back({what, narrow(to), narrow(a), narrow(b)});
  }
  int linear(int r, int j) const { return r * (Coefficients::kMost + 1) + j; }
  bool of_node(int r) const { return r < locals_; }

  void take_in() {
    tape_.node_in = 0;
    tape_.cosine_in = locals_;
    tape_.source_in = locals_ + 1;
    tape_.section_in = locals_ + 2;
    tape_.grid_in = tape_.section_in + Tape::kPerSection * s_.sections;
    tape_.screen_in = tape_.grid_in + Tape::kPerGrid * s_.grids;
    tape_.slots = tape_.screen_in + Tape::kPerScreen * s_.screens;
    other_ = slot();
  }
  int plate_a(int t) const { return tape_.section_in + Tape::kPerSection * t; }
  int grid_a(int t) const { return plate_a(t) + 1; }
  int output_grid_a(int g) const { return tape_.grid_in + Tape::kPerGrid * g; }
  /// The slope that Shape::term counts as q.
  int slope(int q) const {
    const int of_sections = 3 * s_.sections, of_screen = s_.first_of_screen();
    if (q >= of_screen) return tape_.screen_in + 1 + q - of_screen;
    return q >= of_sections ? output_grid_a(q - of_sections) + 1 : plate_a(q / 3) + 2 + q % 3;
  }

  /// F or g: what comes through resistors and sinks, less what the tubes take.
  void equation(int r) {
    const int f = value_[r] = slot();
    add(What::still, f, r);
    for (int j = 0; j < locals_; ++j)
      if (s_.linear[r][j]) add(What::add_linear_times, f, linear(r, j), tape_.node_in + j);
    if (s_.linear[r][locals_]) add(What::add_linear_times, f, linear(r, locals_), tape_.source_in);
    for (int t = 0; t < s_.sections; ++t) {
      const int plate = s_.plate_in[t][r], grid = s_.grid_in[t][r];
      if (plate != 0 && plate == grid) {
        add(What::sum, other_, plate_a(t), grid_a(t));
        take(r, plate, other_);
      } else {
        if (plate != 0) take(r, plate, plate_a(t));
        if (grid != 0) take(r, grid, grid_a(t));
      }
    }
    for (int g = 0; g < s_.grids; ++g)
      if (const int sign = s_.output_grid_in[g][r]; sign != 0) take(r, sign, output_grid_a(g));
    if (const int sign = s_.screens > 0 ? s_.screen_in[r] : 0; sign != 0) take(r, sign, tape_.screen_in);
  }
  void take(int r, int sign, int current) {
    int a = current;
    if (!of_node(r)) add(What::scaled, a = other_, current, r);
    add(sign > 0 ? What::subtract : What::add, value_[r], a);
  }

  void derivative(int r, int j) {
    const bool tube = s_.tube(r, j);
    if (!s_.linear[r][j] && !tube) return;
    const int v = place_[r][j] = slot();
    bool first = true;
    for (int q = 0; q < s_.terms(); ++q)
      if (const int sign = s_.term(r, j, q); sign != 0) {
        add(first      ? (sign > 0 ? What::copy : What::negate)
            : sign > 0 ? What::add
                       : What::subtract,
            v, slope(q));
        first = false;
      }
    if (!of_node(r) && tube) add(What::scale, v, r);
    if (s_.linear[r][j]) add(tube ? What::add_linear : What::linear, v, linear(r, j));
    if (j == locals_) add(What::times, v, tape_.cosine_in);
  }

  /// Gauss-Jordan without pivoting, as newton::eliminate.
  void eliminate(int p) {
    const int inverse = slot();
    add(What::inverse, inverse, place_[p][p]);
    for (int c = p + 1; c < s_.unknowns(); ++c)
      if (place_[p][c] != kZero) add(What::times, place_[p][c], inverse);
    add(What::times, value_[p], inverse);
    for (int r = 0; r < locals_; ++r) {
      if (r == p || place_[r][p] == kZero) continue;
      const int factor = place_[r][p];
      for (int c = p + 1; c < s_.unknowns(); ++c) {
        if (place_[p][c] == kZero) continue;
        const bool fresh = place_[r][c] == kZero;
        if (fresh) place_[r][c] = slot();
        add(fresh ? What::negative_product : What::subtract_product, place_[r][c], factor, place_[p][c]);
      }
      add(What::subtract_product, value_[r], factor, value_[p]);
    }
  }

  void give_out() {
    for (int r = 0; r < locals_; ++r) {
      tape_.residual.push_back(narrow(value_[r]));
      for (int b = 0; b < still_; ++b)
        if (const int at = place_[r][locals_ + b]; at != kZero)
          tape_.columns.push_back({static_cast<std::uint8_t>(r), static_cast<std::uint8_t>(b), narrow(at)});
    }
  }

  int mean_of(int at) {
    add(What::add_to_mean, tape_.means, at);
    return tape_.means++;
  }
  /// M = sum m(k) [g_y(k) - g_x(k) P(k)], and sum m(k) g_x(k) p(k).
  void border() {
    tape_.border.assign(static_cast<std::size_t>(still_ * (still_ + 1)), kZero);
    tape_.mean_of_g.assign(static_cast<std::size_t>(still_), kZero);
    for (int b = 1; b < still_; ++b) {
      const int row = locals_ + b;
      tape_.mean_of_g[static_cast<std::size_t>(b)] = static_cast<std::int16_t>(mean_of(value_[row]));
      for (int c = 0; c <= still_; ++c) {
        const bool right_side = c == still_;
        int v = right_side ? kZero : place_[row][locals_ + c];
        for (int r = 0; r < locals_; ++r) {
          const int by = place_[row][r], of = right_side ? value_[r] : place_[r][locals_ + c];
          if (by == kZero || of == kZero) continue;
          const bool fresh = v == kZero;
          if (fresh) v = slot();
          add(fresh ? (right_side ? What::product : What::negative_product)
                    : (right_side ? What::add_product : What::subtract_product),
              v, by, of);
        }
        if (v != kZero)
          tape_.border[static_cast<std::size_t>(b * (still_ + 1) + c)] =
              static_cast<std::int16_t>(mean_of(v));
      }
    }
  }

  const Shape& s_;
  const int locals_, still_;
  Tape tape_;
  int other_ = 0;  ///< a slot for what is used at once
  std::array<std::array<int, Shape::kMost>, Shape::kMost> place_{};
  std::array<int, Shape::kMost> value_{};
};

}  // namespace

Tape make_tape(const Shape& shape) {
  return Writer(shape).write();
}

}  // namespace antiphase
