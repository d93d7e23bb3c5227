#include "optimize/program/fit_command.h"

#include <algorithm>
#include <cstdio>
#include <utility>

#include "configs/nearest_names.h"
#include "configs/tube_library.h"
#include "optimize/program/curve_files.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/installed_files.h"
#include "optimize/program/standard_output.h"
#include "optimize/program/told_errors.h"
#include "optimize/studies/fit/fit_card.h"
#include "optimize/studies/fit/law_forms.h"
#include "results/save.h"
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
  if (!a.like.empty()) text += " --like " + a.like;
  return text;
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
  request.like = a.like;
  request.made_by = command_again(a);
  return code;
}

/// The options that name a card which is not there, a line each.
std::string unknown_cards(const FitArguments& a, const TubeLibrary& cards) {
  std::string lines;
  for (const auto& [option, name] : {std::pair{"--towards ", a.towards}, std::pair{"--like ", a.like}})
    if (!name.empty() && !cards.find(name))
      lines += option + name + ": there is no card of that name" +
               did_you_mean(cards.nearest_names(name, 3)) + "\n";
  return lines;
}

int answer(const FitArguments& a, const FittedCard& fitted) {
  const auto written = [](const std::string& file, const std::string& text) {
    const auto error = save_file(file, text);
    return error ? tell_lines(error->path + ": cannot be written: " + error->reason, kFileTrouble)
                 : static_cast<int>(kDone);
  };
  if (a.out.empty())
    tell_lines(fitted.report, 0);
  else if (!print_for_people(fitted.report))
    return kFileTrouble;
  if (!a.plot.empty())
    if (const int code = written(a.plot, plate_curves_svg(fitted.tube, fitted.law, fitted.curve)))
      return code;
  if (a.out.empty()) return print(fitted.card) ? kDone : kFileTrouble;
  return written(a.out, fitted.card);
}

}  // namespace

int run_fit(const FitArguments& arguments) {
  FitRequest request;
  int code = read_request(arguments, request);
  const auto library = read_library(arguments.tubes);
  if (const auto* errors = std::get_if<InputErrors>(&library)) code = std::max(code, tell(*errors));
  code = std::max(code, read_curve_files(arguments.point_files, request.points));
  if (code != kDone) return code;

  const TubeLibrary& cards = std::get<TubeLibrary>(library);
  if (const std::string unknown = unknown_cards(arguments, cards); !unknown.empty())
    return tell_lines(unknown, kBadInput);
  const auto fitted = fit_card(request, cards);
  if (const auto* trouble = std::get_if<Trouble>(&fitted)) return tell_lines(trouble->what, kBadInput);
  return answer(arguments, std::get<FittedCard>(fitted));
}

}  // namespace antiphase
