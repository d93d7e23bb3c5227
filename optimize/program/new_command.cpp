#include "optimize/program/new_command.h"

#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <iostream>

#include "optimize/program/exit_codes.h"
#include "optimize/program/installed_files.h"
#include "optimize/program/standard_output.h"
#include "optimize/program/told_errors.h"
#include "results/describe/safety.h"
#include "results/save.h"
#include "results/text/lines.h"

namespace antiphase {
namespace {

bool asks(const NewArguments& a) {
  if (!isatty(STDIN_FILENO) || !isatty(STDERR_FILENO)) return false;
  const auto facts = starting_facts();
  const bool nothing_said = std::all_of(facts.begin(), facts.end(),
                                        [&](const StartingFact& f) { return (a.facts.*f.text).empty(); });
  return nothing_said || !a.out.empty() || isatty(STDOUT_FILENO);
}

/// Questions go to standard error, so that the brief may go into a file.
std::optional<std::string> ask(const StartingFact& fact, const FactDefault& fallback,
                               const std::string& wrong) {
  std::string text = wrong.empty() ? "\n" : wrapped("  " + wrong, 80, 2);
  if (wrong.empty() && !fallback.text.empty()) text += wrapped("(" + fallback.reason + ")");
  text += std::string(fact.description) + (fallback.text.empty() ? "" : " [" + fallback.text + "]") + ": ";
  std::fputs(text.c_str(), stderr);
  std::string answer;
  if (!std::getline(std::cin, answer)) return std::nullopt;
  answer.erase(0, std::min(answer.find_first_not_of(" \t"), answer.size()));
  answer.erase(answer.find_last_not_of(" \t\r") + 1);
  return answer;
}

}  // namespace

int run_new(const NewArguments& a) {
  const auto library = read_library(a.tubes);
  if (const auto* errors = std::get_if<InputErrors>(&library)) return tell(*errors);
  const bool asking = asks(a);
  if (asking) tell_lines(wrapped(kSafetyLine) + "\nAn empty answer takes what stands in brackets.", kDone);
  const auto brief = starting_brief(a.facts, std::get<TubeLibrary>(library), brief_schema(),
                                    asking ? AskFact(ask) : AskFact());
  if (const auto* trouble = std::get_if<Trouble>(&brief)) return tell("new", *trouble);
  const auto& text = std::get<std::string>(brief);
  if (a.out.empty()) return print(text) ? kDone : kFileTrouble;
  const auto error = save_file(a.out, text);
  return error ? tell("new", *error) : kDone;
}

}  // namespace antiphase
