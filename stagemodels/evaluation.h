/// Everything the solvers say about one design. The definitions are in stagemodels/README.md.
#pragma once

#include <array>
#include <complex>
#include <optional>
#include <string_view>

#include "stagemodels/output/pair_figures.h"
#include "stagemodels/solved.h"
#include "stagemodels/tubes/currents.h"

namespace antiphase {

/// A section of another stage than the splitter, at rest; all 0 without one. V, A, W.
struct SectionRest {
  double plate_v = 0, cathode_v = 0, grid_v = 0;
  double plate_current_a = 0, grid_current_a = 0;
  double grid_to_cathode_v = 0, plate_to_cathode_v = 0;
  double plate_dissipation_w = 0;
  double gm_s = 0, mu = 0, rp_ohm = 0;
  /// Of a pentode; 0 without a screen.
  double screen_v = 0, screen_to_cathode_v = 0, screen_current_a = 0, screen_dissipation_w = 0;
  double cathode_current_a() const { return plate_current_a + grid_current_a + screen_current_a; }
};

/// DC, capacitors open, no signal. V, A, W.
struct OperatingPoint {
  Solved solved = Solved::not_run;
  double supply_v = 0;  ///< of the stage: given, or behind the dropping resistor
  double cathode_v = 0;
  double leak_node_v = 0;  ///< self_biased pair; otherwise the foot voltage of the grids
  double tail_v = 0;       ///< across the tail
  double tail_current_a = 0;
  double tail_fraction = 0;  ///< tail_v / supply_v; with a negative rail, over the whole span
  Pair plate_v{}, grid_v{};
  Pair plate_current_a{}, grid_current_a{};
  Pair grid_to_cathode_v{}, plate_to_cathode_v{};
  Pair plate_dissipation_w{};
  double supply_current_a = 0;
  Pair gm_s{}, mu{}, rp_ohm{};          ///< of the sections at rest
  SectionRest first;                    ///< a first stage ahead of the splitter
  SectionRest second;                   ///< the second section of such a stage
  std::array<SectionRest, 2> driver{};  ///< drivers behind it
  int newton_steps = 0;
};

/// Linearised at rest, mid-band (capacitors are shorts).
struct SmallSignal {
  Pair gain{};  ///< loaded, signed, from the first grid: pair negative, positive; behind a gain stage the
                ///< other way round
  double balance_pct = 0;
  Pair output_impedance_alone_ohm{};
  Pair output_impedance_differential_ohm{};  ///< one-section circuits: same as alone
  double cathode_gain = 0;      ///< signal of the cathode of the driven section per signal at its grid
  double first_stage_gain = 0;  ///< of a first stage: its grid to where it gives out, loaded by the splitter
  double input_ohm = 0;         ///< at the first grid, capacitors shorted; 0: takes no signal current at all
};

/// A section of another stage over one period; without meaning where there is none.
struct SectionWaveforms {
  Row plate_v, cathode_v;  ///< to ground
  Row plate_current_a, grid_current_a, grid_to_cathode_v;
  Row screen_current_a, screen_to_cathode_v;  ///< of a pentode only; without meaning otherwise
};

/// One period at one drive, as it stands at the instants cos(k pi / (instants - 1)) of the half cycle.
struct Waveforms {
  int instants = 0;
  Row drive;                    ///< cos of the phase: 1 … -1
  std::array<Row, 2> plate_v;   ///< to ground
  std::array<Row, 2> output_v;  ///< behind the coupling capacitor
  std::array<Row, 2> plate_current_a;
  std::array<Row, 2> grid_current_a;
  std::array<Row, 2> grid_to_cathode_v;
  std::array<Row, 2> output_grid_a;  ///< into the grids that the outputs drive; 0 but for Overdrive
  double supply_v = 0;               ///< still over the cycle
  Row cathode_v;
  Row tail_v;  ///< across the tail (one section: across the cathode resistor)
  SectionWaveforms first, second;
  Row first_stage_a;  ///< what a first stage takes from the supply; only of one that is more than a triode
  std::array<SectionWaveforms, 2> driver;
};

/// A section of another stage over the cycle; all 0 without one.
struct SectionState {
  std::array<double, kHarmonics + 1> harmonic_v{};  ///< of its plate, signed; [0] the mean to ground
  double thd_pct = 0;                               ///< of its plate
  double grid_to_cathode_peak_v = 0, plate_current_low_a = 0;
  double plate_dissipation_w = 0;  ///< mean over the cycle
  double cathode_current_mean_a = 0, cathode_current_peak_a = 0;
  double plate_to_cathode_peak_v = 0;
  double cathode_low_v = 0, cathode_high_v = 0;
  double grid_mean_v = 0;
  double screen_dissipation_w = 0;  ///< of a pentode; mean over the cycle
};

/// Mid-band steady state at one drive.
struct SteadyState {
  Solved solved = Solved::not_run;
  double input_peak_v = 0;
  Pair output_peak_v{};  ///< |fundamental| of each output
  Pair thd_pct{};
  double thd_differential_pct = 0;
  std::array<std::array<double, kHarmonics + 1>, 2> harmonic_v{};  ///< signed, [output][order]; [0] the mean
  std::array<double, kHarmonics + 1> harmonic_differential_v{};    ///< of output 1 − output 2
  double balance_pct = 0;
  Pair grid_to_cathode_peak_v{};  ///< highest over the cycle
  Pair plate_current_low_a{};     ///< least over the cycle
  Pair plate_dissipation_w{};     ///< mean over the cycle
  Pair cathode_current_mean_a{};  ///< plate and grid, mean
  Pair cathode_current_peak_a{};
  Pair plate_to_cathode_peak_v{};
  double cathode_low_v = 0, cathode_high_v = 0;
  double tail_low_v = 0;        ///< least voltage across the tail
  double supply_current_a = 0;  ///< mean
  double supply_v = 0;          ///< of the stage; it follows the mean current if it hangs on a main supply
  Pair grid_mean_v{};           ///< to ground
  SectionState first, second;
  std::array<SectionState, 2> driver{};
  int newton_steps = 0;

  double harmonic_pct(int output, int order) const;  ///< 100 |c_h / c_1|, order 2…10
};

enum class CleanLimit { none, distortion, grid_conduction, cutoff, saturation };
std::string_view name_of(CleanLimit);

/// Largest swing at which distortion, grid conduction and cut-off are all still kept.
struct CleanSwing {
  Solved solved = Solved::not_run;
  double swing_peak_v = 0;  ///< 0 when the stage is not clean even at rest
  CleanLimit limited_by = CleanLimit::none;
  double input_peak_v = 0;
  double headroom_db = 0;  ///< against the target; meaningless when swing_peak_v is 0
};

/// The pencil's answer: one section alone on a straight AC load line, cathode held still,
/// five equally spaced ordinates. For comparison with the solved figures.
struct HandEstimate {
  bool valid = false;
  double rest_plate_v = 0;  ///< plate to cathode, on the line
  double rest_current_a = 0;
  double rest_grid_v = 0;
  double ac_load_ohm = 0;
  double line_supply_v = 0;      ///< where the AC line meets zero current, plate to cathode
  double grid_drive_peak_v = 0;  ///< for the target swing
  double thd_pct = 0;
};

/// The linearised stage at one frequency, capacitors in.
struct FrequencyPoint {
  double frequency_hz = 0;
  std::array<std::complex<double>, 2> gain{};  ///< from the source behind source_ohm to each output
  double balance_pct = 0;                      ///< of the sizes of the two gains
  double opposite_deg = 0;                     ///< how far the outputs are from opposite phase
  std::complex<double> input_ohm;              ///< at the input terminal, in front of the input capacitor
};

/// Thermal noise of the resistors and shot noise of the tubes at the outputs, 20 Hz to 20 kHz. Flicker noise
/// is left out: below some hundred hertz a real tube is noisier.
struct NoiseFigures {
  Pair output_v_rms{};
  double difference_v_rms = 0;  ///< of output 1 minus output 2; one section: of output 1
  Pair below_target_db{};       ///< target swing (rms) over noise (rms)
  double difference_below_target_db =
      0;                   ///< the two outputs' target swings in antiphase over difference noise
  double input_v_rms = 0;  ///< at the source: difference noise over the mid-band gain to the difference

  static constexpr double kLow_hz = 20, kHigh_hz = 20e3, kTemperature_k = 300;
};

/// What a designer asks of the linearised stage with its capacitors in. Empty corners: none within kLowest_hz
/// … kHighest_hz.
struct FrequencyFigures {
  std::array<std::optional<double>, 2> low_corner_hz{}, high_corner_hz{};  ///< -3 dB against mid-band
  Pair ripple_v_per_v{};                 ///< at each output, per volt on the (main) supply, at kRipple_hz
  double ripple_difference_v_per_v = 0;  ///< of output 1 minus output 2
  struct Balance {
    double frequency_hz = 0, amplitude_pct = 0;
    double phase_deg = 0;  ///< how far the outputs are from opposite
  };
  std::array<Balance, 3> balance{};  ///< at 20 Hz, 1 kHz and 20 kHz
  double input_f = 0;                ///< of grid 1 at 20 kHz, Miller part included; wiring comes on top
  NoiseFigures noise;

  /// Ten points a decade.
  static constexpr double kCurveLow_hz = 0.1, kCurveHigh_hz = 1e6;
  static constexpr int kCurvePoints = 71;
  std::array<FrequencyPoint, kCurvePoints> curve{};

  static constexpr double kLowest_hz = 1e-3, kHighest_hz = 1e9, kRipple_hz = 100;
};

/// Two tones at once, their common peak the target swing (the outputs' sum of both amplitudes in the smaller
/// output). Mid-band and without memory, so the frequencies themselves play no part.
struct IntermodulationFigures {
  Solved solved = Solved::not_run;
  /// Index 0, 1: outputs; 2: output 1 minus output 2 (one section: as output 1).
  struct Products {
    double second_pct = 0;  ///< IEC 60268-3 d_2
    double third_pct = 0;   ///< d_3
    double total_pct = 0;   ///< rms of the four sidebands; of the two products of the close pair
  };
  std::array<Products, 3> low_and_high{};  ///< 4:1 (60 Hz + 7 kHz), over the high tone
  std::array<Products, 3> close_pair{};    ///< 1:1 (such as 19 + 20 kHz), over the sum of both tones
};

/// One step of the curve of distortion against level.
struct LevelPoint {
  double input_peak_v = 0;
  double level_db = 0;  ///< smaller output's fundamental over the target swing
  Pair output_peak_v{};
  Pair thd_pct{};
  double thd_differential_pct = 0;
  Pair second_pct{}, third_pct{};  ///< harmonics of each output
};

/// Distortion from far below the target up to where the stage clips: each point solved from the one before.
struct LevelCurve {
  static constexpr int kMostPoints = 48;
  static constexpr double kLowest_db = -30, kStep_db = 1.5;
  static constexpr double kClipped_pct = 10;  ///< the curve ends at the first point with this much distortion
  Solved solved = Solved::not_run;
  Solved ended = Solved::not_run;  ///< yes: where it clips or the list is full; otherwise why it stops early
  int count = 0;
  std::array<LevelPoint, kMostPoints> point{};
};

/// The stage past its target, every grid that conducts included.
struct OverdriveFigures {
  Solved solved = Solved::not_run;
  /// As CleanSwing, but own grids may conduct: only distortion and cut-off end it.
  CleanSwing clean_conducting;
  /// The same into the output valves' grids; `not_run` if no output valve is named.
  CleanSwing clean_into_output_grids;
  /// Drive past the drive for the target, dB, at which the crest at an output grid falls kStarvedShare short
  /// of the crest into load_ohm alone. Empty: not named, or not within kMostDrive_db.
  std::optional<double> starved_db;
  Solved starved_solved = Solved::not_run;  ///< yes: every drive up to where it was looked for was solved
  static constexpr double kStarvedShare = 0.1, kMostDrive_db = 20;

  /// One drive, with the output valves' grids if they are named.
  struct At {
    Solved solved = Solved::not_run;
    double drive_db = 0;  ///< over the drive for the target
    Pair output_peak_v{};
    Pair thd_pct{};
    Pair grid_shift_v{};         ///< mean grid-to-ground voltage against rest, grids 1 and 2
    Pair output_grid_shift_v{};  ///< mean voltage of the output valves' grids against their bias
    Pair output_grid_peak_a{};   ///< the most that the splitter's output must give to a grid
    double input_peak_a = 0;     ///< the most that grid 1 takes from its source
  };
  std::array<At, 3> at{};  ///< at +0, +6 and +12 dB
  static constexpr std::array<double, 3> kDrives_db{0, 6, 12};
  Pair output_recovery_s{};  ///< time constant with which a shifted output grid returns; 0: no coupling_f
                             ///< given
};

/// How stable a loop is. Empty: the loop gain never gets there within FrequencyFigures::kLowest_hz …
/// kHighest_hz, so that nothing is short.
struct LoopMargins {
  std::optional<double> gain_margin_db;    ///< least |1 / loop gain| where its phase is turned round
  std::optional<double> gain_margin_hz;    ///< where that is
  std::optional<double> phase_margin_deg;  ///< least distance from a full turn round at loop gain 1
  std::optional<double> phase_margin_hz;
  /// The loop gain may grow by this factor until the least margins asked for are reached; empty: without end.
  std::optional<double> room;
};

/// The budget of overall feedback (Feedback). T is the loop gain: what comes back per volt, positive at
/// mid-band; the gain falls by 1 + T (Black 1934).
struct FeedbackFigures {
  bool known = false;            ///< false: none is asked for, or it could not be solved
  bool reached = false;          ///< false: no resistor gives wanted_db, not even none at all
  double resistor_ohm = 0;       ///< as given, or the one that gives wanted_db
  double injection_ohm = 0;      ///< unbypassed part of the first cathode resistor
  double gain_needed = 0;        ///< source to each output, feedback off, for source_v_rms and the feedback
  double gain_had = 0;           ///< the same as it is, the feedback resistor's load on the cathode included
  double spare_db = 0;           ///< had over needed
  double loop_gain = 0;          ///< T at mid-band
  double feedback_db = 0;        ///< 20 log (1 + T)
  double open_gain = 0;          ///< source to load, feedback off
  double closed_gain = 0;        ///< source to load
  double sensitivity_v_rms = 0;  ///< source for the target with feedback
  std::optional<double>
      distortion_pct;               ///< of output 1 - output 2 at the target, over 1 + T; front end alone
  double output_impedance_ohm = 0;  ///< at the load, with feedback
  LoopMargins margins;
  std::optional<double> largest_db;  ///< most feedback that keeps the margins asked for; empty: no end
  /// T at the frequencies of FrequencyFigures::curve.
  std::array<std::complex<double>, FrequencyFigures::kCurvePoints> loop{};
};

/// The output stage behind the design (OutputStage), and what the design makes of it.
struct OutputStageFigures {
  PairFigures pair;  ///< driven by a balanced cosine that no grid current moves
  /// The driver's own cycle at the target, its harmonics, imbalance and impedance included. `not_run` if the
  /// driver does not reach the target.
  PairState driven;

  /// With overall feedback, all stages at once: the drive behind which the load has the watts wanted.
  struct Closed {
    Solved solved = Solved::not_run;
    double power_w = 0;
    double thd_pct = 0;                           ///< at the load
    std::array<double, kHarmonics + 1> load_v{};  ///< signed
    double source_v_rms = 0;
    double open_thd_pct = 0;       ///< the same power with the loop open
    double predicted_thd_pct = 0;  ///< that over 1 + T
  } closed;
};

/// All figures of one design. Figures behind an unsolved part keep their defaults; ask `solved`.
struct Evaluation {
  OperatingPoint operating_point;
  SmallSignal small_signal;  ///< valid if operating_point.solved == yes
  SteadyState at_target;
  CleanSwing clean;
  HandEstimate hand_at_rest_point;  ///< AC line through the solved rest point
  HandEstimate hand_from_supply;    ///< AC line drawn from the supply end (common practice)
  FrequencyFigures
      frequency;  ///< from Depth::with_frequency on, its curve only at everything; see frequency_known
  bool frequency_known = false;
  FeedbackFigures feedback;                ///< from Depth::with_frequency on, where it is asked for
  IntermodulationFigures intermodulation;  ///< these three only at Depth::everything
  LevelCurve level_curve;
  OverdriveFigures overdrive;
  OutputStageFigures output_stage;  ///< only at Depth::everything, where an output stage is given
  Waveforms waveforms;              ///< at the target
};

}  // namespace antiphase
