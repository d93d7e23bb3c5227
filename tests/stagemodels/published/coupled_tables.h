/// Rows of published resistance-coupled tables, each with the sheet that prints it.
#pragma once

#include <cstddef>
#include <initializer_list>
#include <vector>

namespace antiphase::testing {

inline constexpr double kNotGiven = -1;
inline constexpr double kOpen_ohm = 1e8;  // "open output"

/// One gain stage: what is in it, and what the sheet says of it. kNotGiven where it says nothing. Distortion
/// is that at output_rms_v.
struct TableRow {
  double supply_v, plate_ohm, next_ohm, cathode_ohm, current_ma, gain, output_rms_v, distortion_pct;
};

/// One row for each supply; a list of one entry holds for all of them.
inline std::vector<TableRow> blocks(std::initializer_list<double> supplies, double plate, double next,
                                    std::initializer_list<double> cathodes,
                                    std::initializer_list<double> currents,
                                    std::initializer_list<double> gains,
                                    std::initializer_list<double> outputs,
                                    std::initializer_list<double> distortions) {
  std::vector<TableRow> rows;
  const auto at = [](const std::initializer_list<double>& list, std::size_t k) {
    return list.begin()[list.size() == 1 ? 0 : k];
  };
  for (std::size_t k = 0; k < supplies.size(); ++k)
    rows.push_back({at(supplies, k), plate, next, at(cathodes, k), at(currents, k), at(gains, k),
                    at(outputs, k), at(distortions, k)});
  return rows;
}

inline std::vector<TableRow> joined(std::initializer_list<std::vector<TableRow>> parts) {
  std::vector<TableRow> rows;
  for (const auto& part : parts) rows.insert(rows.end(), part.begin(), part.end());
  return rows;
}

/// Philips ECC83 data sheet, January 1970; output where the grid begins to draw 0.3 uA.
inline std::vector<TableRow> philips_ecc83_1970() {
  return joined({blocks({200, 250, 300, 350, 400}, 47e3, 150e3, {1500, 1200, 1000, 820, 680},
                        {0.86, 1.18, 1.55, 1.98, 2.45}, {34, 37.5, 40, 42.5, 44}, {18, 23, 26, 33, 37},
                        {8.5, 7.0, 5.0, 4.4, 3.6}),
                 blocks({200, 250, 300, 350, 400}, 100e3, 330e3, {1800, 1500, 1200, 1000, 820},
                        {0.65, 0.86, 1.11, 1.40, 1.72}, {50, 54.5, 57, 61, 63}, {20, 26, 30, 36, 38},
                        {4.8, 3.9, 2.7, 2.2, 1.7}),
                 blocks({200, 250, 300, 350, 400}, 220e3, 680e3, {3300, 2700, 2200, 1500, 1200},
                        {0.36, 0.48, 0.63, 0.85, 1.02}, {56, 66.5, 72, 75.5, 76.5}, {24, 28, 36, 37, 38},
                        {4.6, 3.4, 2.6, 1.6, 1.1})});
}

/// Philips ECC82 data sheet, 1959; output where the grid begins to draw 0.3 uA.
inline std::vector<TableRow> philips_ecc82_1959() {
  const auto volts = {100., 150., 200., 250., 300., 350., 400.};
  return joined({blocks(volts, 47e3, 150e3, {1200}, {1.20, 1.82, 2.41, 3.02, 3.65, 4.30, 5.00}, {13.5},
                        {11, 18, 26, 34, 43, 51, 59}, {5.6, 6.1, 6.3, 6.4, 6.5, 6.6, 6.7}),
                 blocks(volts, 100e3, 330e3, {2200}, {0.66, 0.98, 1.30, 1.63, 1.97, 2.30, 2.62}, {14},
                        {10, 17, 25, 32, 41, 49, 57}, {4.8, 5.6, 5.8, 5.9, 6.0, 6.1, 6.2}),
                 blocks(volts, 220e3, 680e3, {3900}, {0.33, 0.50, 0.66, 0.82, 0.98, 1.16, 1.31}, {14.5},
                        {8, 15, 22, 28, 36, 43, 50}, {4.0, 4.4, 4.7, 4.8, 4.9, 5.0, 5.1})});
}

/// Sheet RT-6922, 2012. Its tidy spacing suggests that it was calculated: a model rather than a measurement.
inline std::vector<TableRow> rt_6922_2012() {
  const auto volts = {200., 250., 300., 350., 400.};
  return joined(
      {blocks(volts, 47e3, kOpen_ohm, {1500, 1200, 1000, 820, 680}, {2.0, 2.8, 3.6, 4.5, 5.6},
              {25, 26, 26.5, 27, 27.3}, {10.0, 10.4, 10.6, 10.8, 10.9}, {0.96, 0.73, 0.60, 0.51, 0.44}),
       blocks(volts, 100e3, kOpen_ohm, {1800, 1500, 1200, 1000, 820}, {1.3, 1.7, 2.2, 2.6, 3.0},
              {26, 26.5, 27.3, 27.8, 28}, {10.4, 10.6, 10.9, 11.1, 11.2}, {0.76, 0.62, 0.56, 0.51, 0.49}),
       blocks(volts, 220e3, kOpen_ohm, {2700, 2200, 1500, 1200, 1000}, {0.7, 0.9, 1.1, 1.3, 1.6},
              {25.8, 26.5, 27.3, 27.8, 28.3}, {10.3, 10.6, 10.9, 11.1, 11.3},
              {0.74, 0.65, 0.63, 0.62, 0.61})});
}

/// General Electric 12AX7 sheet ET-T509B, June 1953: gain at 2 V rms.
inline std::vector<TableRow> general_electric_12ax7_1953() {
  const auto volts = {90., 180., 300.};
  const auto block = [&](double plate, double next, std::initializer_list<double> cathodes,
                         std::initializer_list<double> gains) {
    return blocks(volts, plate, next, cathodes, {kNotGiven}, gains, {2}, {kNotGiven});
  };
  return joined({block(100e3, 100e3, {1700, 1000, 760}, {31, 40, 43}),
                 block(100e3, 240e3, {2000, 1100, 900}, {38, 46, 50}),
                 block(240e3, 240e3, {3500, 2000, 1600}, {43, 54, 58}),
                 block(240e3, 510e3, {3900, 2300, 1800}, {49, 59, 64}),
                 block(510e3, 510e3, {7100, 4300, 3100}, {50, 62, 66}),
                 block(510e3, 1e6, {7800, 4800, 3600}, {53, 64, 69})});
}

/// Brimar application report on the 12AX7: gain. The last two rows contradict the worked example of the same
/// report.
inline std::vector<TableRow> brimar_12ax7() {
  const auto row = [](double supply, double plate, double next, double cathode, double gain) {
    return TableRow{supply, plate, next, cathode, kNotGiven, gain, 2, kNotGiven};
  };
  return {row(100, 100e3, 220e3, 4700, 35), row(100, 100e3, 470e3, 4800, 41),
          row(100, 220e3, 220e3, 7000, 39), row(100, 220e3, 470e3, 7400, 45),
          row(100, 470e3, 470e3, 12e3, 48), row(100, 470e3, 1e6, 13e3, 52),
          row(250, 100e3, 220e3, 1500, 43), row(250, 100e3, 470e3, 1700, 47),
          row(250, 220e3, 220e3, 2200, 49), row(250, 220e3, 470e3, 2800, 54)};
}
inline std::vector<TableRow> brimar_12ax7_contradicted() {
  const auto row = [](double supply, double plate, double next, double cathode, double gain) {
    return TableRow{supply, plate, next, cathode, kNotGiven, gain, 2, kNotGiven};
  };
  return {row(250, 470e3, 470e3, 4300, 57), row(250, 470e3, 1e6, 5200, 61)};
}
/// The worked example of that report.
inline std::vector<TableRow> brimar_12ax7_example() {
  return {{250, 470e3, 470e3, 4300, 0.3, 66, 2, kNotGiven}};
}

/// Tung-Sol 6SN7GT data sheet, 31 July 1945: gain at 5 V rms, as printed or as its own plate curves give it.
inline std::vector<TableRow> tung_sol_6sn7gt_1945(std::initializer_list<double> gains) {
  return blocks({90, 180, 300}, 100e3, 250e3, {3940, 2830, 2440}, {kNotGiven}, gains, {5}, {kNotGiven});
}

}  // namespace antiphase::testing
