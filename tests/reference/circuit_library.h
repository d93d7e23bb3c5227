/// The independent circuit-equation library (libngspice, its sharedspice.h door) as the tests see it:
/// lines of a netlist in, vectors of numbers out, every complaint as text.
#pragma once

#include <complex>
#include <stdexcept>
#include <string>
#include <vector>

namespace antiphase::reference {

using Netlist = std::vector<std::string>;  ///< title first, ".end" last

/// What the library said when it could not do what was asked.
class CircuitError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// The library keeps its state in globals: one instance per process, not to be used by two threads.
/// It prints nothing and never ends the process; failures are thrown as CircuitError.
class CircuitLibrary {
 public:
  static CircuitLibrary& instance();
  CircuitLibrary(const CircuitLibrary&) = delete;
  CircuitLibrary& operator=(const CircuitLibrary&) = delete;

  /// Drops the circuit and all results so far, then takes this one.
  void load(const Netlist& lines);

  /// Runs one command, e.g. "op" or "dc vphase 0 32 1". Results of earlier analyses are dropped first.
  void analyse(const std::string& command);

  /// Sets the value of an element (`alter`) without reading the netlist again.
  /// parameter: e.g. "vco1[dc]", "rl1[resistance]".
  void alter(const std::string& parameter, double value);

  /// A vector of the last analysis, e.g. "p1" (a node's voltage) or "vco1#branch"
  /// (the current into the source's first node). Real and complex ones apart.
  std::vector<double> real(const std::string& name) const;
  std::vector<std::complex<double>> complex(const std::string& name) const;

  /// Whether it steps in time towards a rest point that Newton's method does not find (as it does unless told
  /// otherwise). With the large capacitors that stand for shorts that takes minutes and stops on its way.
  void step_in_time_to_rest(bool may) { command(may ? "optran 1 1 1 100n 10u 0" : "optran 1 1 1 0 0 0"); }

  /// All that the library has said since the last command, for messages.
  const std::string& said() const { return said_; }

 private:
  CircuitLibrary();
  void command(const std::string& text);
  void throw_if_complained(int status, const std::string& doing);

  static int hear(char* text, int, void* self);
  static int be_left(int status, bool, bool, int, void* self);

  std::string said_;
  std::string complaint_;
  bool circuit_loaded_ = false;
  bool detached_ = false;  ///< the library asked to be unloaded: nothing works from here on
};

/// A number so that nothing is lost on its way into a netlist.
std::string exact(double value);

/// Tolerances far below any that a comparison uses: solver errors stay under 1e-7 V.
std::string tight_options();

}  // namespace antiphase::reference
