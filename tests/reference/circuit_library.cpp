#include "tests/reference/circuit_library.h"

#include <ngspice/sharedspice.h>

#include <array>
#include <cstdio>
#include <string_view>

namespace antiphase::reference {
namespace {

/// On the error stream the library also tells how it is getting on; these are no failures.
bool is_progress(std::string_view line) {
  for (const std::string_view start :
       {"Note:", "Trying", "Supplies reduced to",
        // one way to a rest point that fails, before the next is tried; where all do, that is told too
        "Warning: Dynamic gmin stepping failed", "Warning: True gmin stepping failed",
        "Warning: there is no circuit loaded", "Command 'remcirc' is ignored"}) {
    if (line.starts_with(start)) return true;
  }
  return line.empty();
}

pvector_info find(const std::string& name) {
  std::string text = name;  // the library's door is not const-correct
  pvector_info vector = ngGet_Vec_Info(text.data());
  if (!vector || vector->v_length < 1) throw CircuitError("no vector named " + name);
  return vector;
}

}  // namespace

CircuitLibrary& CircuitLibrary::instance() {
  static CircuitLibrary library;
  return library;
}

CircuitLibrary::CircuitLibrary() {
  ngSpice_Init(&CircuitLibrary::hear, nullptr, &CircuitLibrary::be_left, nullptr, nullptr, nullptr, this);
  // A missing start-up file is only a note; nothing of it is needed.
  said_.clear();
  complaint_.clear();
}

int CircuitLibrary::hear(char* text, int, void* self) {
  auto& library = *static_cast<CircuitLibrary*>(self);
  const std::string_view line(text);
  library.said_.append(line).push_back('\n');
  constexpr std::string_view kErrorStream = "stderr ";
  if (line.starts_with(kErrorStream) && !is_progress(line.substr(kErrorStream.size()))) {
    library.complaint_.append(line.substr(kErrorStream.size())).push_back('\n');
  }
  return 0;
}

int CircuitLibrary::be_left(int status, bool, bool, int, void* self) {
  auto& library = *static_cast<CircuitLibrary*>(self);
  library.detached_ = true;
  library.complaint_ += "the library gave up with status " + std::to_string(status) + "\n";
  return 0;
}

void CircuitLibrary::throw_if_complained(int status, const std::string& doing) {
  if (status == 0 && complaint_.empty()) return;
  throw CircuitError(doing + " failed:\n" + said_ + complaint_);
}

void CircuitLibrary::command(const std::string& text) {
  if (detached_) throw CircuitError("the library gave up earlier in this process");
  said_.clear();
  complaint_.clear();
  std::string line = text;
  const int status = ngSpice_Command(line.data());
  throw_if_complained(status, text);
}

void CircuitLibrary::load(const Netlist& lines) {
  command("destroy all");
  if (circuit_loaded_) command("remcirc");
  circuit_loaded_ = false;
  said_.clear();
  complaint_.clear();
  Netlist copy = lines;
  std::vector<char*> pointers;
  pointers.reserve(copy.size() + 1);
  for (std::string& line : copy) pointers.push_back(line.data());
  pointers.push_back(nullptr);
  const int status = ngSpice_Circ(pointers.data());
  circuit_loaded_ = !detached_;
  throw_if_complained(status, "reading the netlist");
}

void CircuitLibrary::analyse(const std::string& text) {
  command("destroy all");
  command(text);
}

void CircuitLibrary::alter(const std::string& parameter, double value) {
  command("alter @" + parameter + " = " + exact(value));
}

std::vector<double> CircuitLibrary::real(const std::string& name) const {
  const pvector_info vector = find(name);
  if (!vector->v_realdata) throw CircuitError(name + " is complex");
  return {vector->v_realdata, vector->v_realdata + vector->v_length};
}

std::vector<std::complex<double>> CircuitLibrary::complex(const std::string& name) const {
  const pvector_info vector = find(name);
  if (!vector->v_compdata) throw CircuitError(name + " is real");
  std::vector<std::complex<double>> values;
  values.reserve(static_cast<std::size_t>(vector->v_length));
  for (int i = 0; i < vector->v_length; ++i) {
    values.emplace_back(vector->v_compdata[i].cx_real, vector->v_compdata[i].cx_imag);
  }
  return values;
}

std::string exact(double value) {
  std::array<char, 40> text{};
  std::snprintf(text.data(), text.size(), "%.17g", value);
  return text.data();
}

std::string tight_options() {
  return ".options reltol=1e-9 abstol=1e-16 vntol=1e-10 gmin=1e-18 itl1=100 itl2=100";
}

}  // namespace antiphase::reference
