// antiphase: command line in, one command run, exit code out.
#include <csignal>
#include <cstdio>
#include <exception>
#include <new>
#include <string>

#include "optimize/program/command_line.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/standard_output.h"
#include "optimize/program/told_errors.h"

namespace antiphase {
namespace {

int run(const TextAsked& asked) {
  return print(asked.text) ? kDone : kFileTrouble;
}
int run(const WrongUsage& wrong) {
  return tell_lines("antiphase: " + wrong.what + "\nRun antiphase --help for the commands and their options.",
                    kBadInput);
}
int run(const SearchArguments& arguments) {
  return run_search(arguments);
}
int run(const EvaluateArguments& arguments) {
  return run_evaluate(arguments);
}
int run(const SpreadArguments& arguments) {
  return run_spread(arguments);
}
int run(const ReadingsArguments& arguments) {
  return run_readings(arguments);
}
int run(const TubesArguments& arguments) {
  return run_tubes(arguments);
}
int run(const SnapArguments& arguments) {
  return run_snap(arguments);
}
int run(const FitArguments& arguments) {
  return run_fit(arguments);
}
int run(const NewArguments& arguments) {
  return run_new(arguments);
}

}  // namespace
}  // namespace antiphase

int main(int argc, char** argv) {
  std::signal(SIGXFSZ, SIG_IGN);  // a file that may grow no more is then an ordinary write error
  try {
    return std::visit([](const auto& asked) { return antiphase::run(asked); },
                      antiphase::read_command_line(argc, argv));
  } catch (const std::bad_alloc&) {
    std::fputs("antiphase: not enough memory; nothing was written\n", stderr);
    return antiphase::kNoMemory;
  } catch (const std::exception& error) {
    antiphase::tell_lines(std::string("antiphase: a fault of the program itself: ") + error.what(), 0);
  } catch (...) {
    std::fputs("antiphase: a fault of the program itself\n", stderr);
  }
  return antiphase::kOurFault;
}
