#include "optimize/program/fit_command.h"

#include <algorithm>
#include <cstdio>
#include <fstream>

#include "configs/tube_library.h"
#include "optimize/program/curve_files.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/standard_output.h"
#include "optimize/program/told_errors.h"
#include "optimize/studies/fit/fit_card.h"
#include "optimize/studies/fit/law_forms.h"
#include "results/svg/plate_curves.h"

namespace antiphase {
namespace {

/// The command that makes the fit again, for the law's source.
std::string command_again(const FitArguments& a) {
  std::string text = "antiphase fit";
  for (const std::string& file : a.point_files) text += " " + file;
  text += " --tube " + a.tube;
  if (a.model != FitArguments{}.model) text += " --model " + a.model;
  if (!a.towards.empty()) text += " --towards " + a.towards;
  return text;
}

/// A card is never left half written: the new text takes the place of the old in one step.
bool write_file(const std::string& file, const std::string& text) {
  const std::string part = file + ".part";
  bool good = false;
  {
    std::ofstream to(part, std::ios::binary);
    to << text;
    to.flush();
    good = to.good();
  }
  good = good && std::rename(part.c_str(), file.c_str()) == 0;
  if (!good) std::remove(part.c_str());
  return good;
}

/// What is asked, into the request; readings follow. Everything that is wrong is told at once.
int read_request(const FitArguments& a, FitRequest& request) {
  int code = kDone;
  const auto form = law_of_form(a.model);
  if (const auto* trouble = std::get_if<Trouble>(&form))
    code = tell_lines(trouble->what, kBadInput);
  else
    request.form = std::get<TriodeLaw>(form);
  if (a.tube.empty()) code = tell_lines("--tube must name the type that the points belong to", kBadInput);
  request.tube = a.tube;
  request.towards = a.towards;
  request.made_by = command_again(a);
  return code;
}

int answer(const FitArguments& a, const FittedCard& fitted) {
  const auto not_written = [](const std::string& file) {
    return tell_lines(file + ": cannot be written", kFileTrouble);
  };
  if (a.out.empty())
    std::fputs(fitted.report.c_str(), stderr);
  else if (!print(fitted.report))
    return kFileTrouble;
  if (!a.plot.empty() && !write_file(a.plot, plate_curves_svg(fitted.tube, fitted.law, fitted.curve)))
    return not_written(a.plot);
  if (a.out.empty()) return print(fitted.card) ? kDone : kFileTrouble;
  return write_file(a.out, fitted.card) ? kDone : not_written(a.out);
}

}  // namespace

int run_fit(const FitArguments& arguments) {
  FitRequest request;
  int code = read_request(arguments, request);
  const auto library = read_tube_library(arguments.tube_folder);
  if (const auto* errors = std::get_if<InputErrors>(&library)) code = std::max(code, tell(*errors));
  code = std::max(code, read_curve_files(arguments.point_files, request.points));
  if (code != kDone) return code;

  const TubeLibrary& cards = std::get<TubeLibrary>(library);
  if (!arguments.towards.empty() && !cards.find(arguments.towards))
    return tell_lines(
        "--towards " + arguments.towards + ": there is no card of that name in " + arguments.tube_folder,
        kBadInput);
  const auto fitted = fit_card(request, cards);
  if (const auto* trouble = std::get_if<Trouble>(&fitted)) return tell_lines(trouble->what, kBadInput);
  return answer(arguments, std::get<FittedCard>(fitted));
}

}  // namespace antiphase
