// antiphase: command line in, one command run, exit code out.
#include <CLI/CLI.hpp>
#include <algorithm>
#include <charconv>
#include <csignal>
#include <cstdio>
#include <exception>
#include <iostream>
#include <new>
#include <sstream>

#include "configs/nearest_names.h"
#include "optimize/program/command_text.h"
#include "optimize/program/effort.h"
#include "optimize/program/evaluate_command.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/fit_command.h"
#include "optimize/program/places.h"
#include "optimize/program/search_command.h"
#include "optimize/program/snap_command.h"
#include "optimize/program/spread_command.h"
#include "optimize/program/tubes_command.h"
#include "optimize/program/versions.h"

namespace antiphase {
namespace {

constexpr const char* kFooter =
    "Examples:\n"
    "  antiphase search configs/briefs/rehearsal_room.json --out results/out/demo\n"
    "  antiphase evaluate configs/designs/high_mu_self_biased.json\n"
    "  antiphase tubes 12AX7\n"
    "  antiphase snap 31.7k --series E24\n\n"
    "Exit codes: 0 done; 1 nothing satisfies the brief; 2 bad input; 3 a file could not be\n"
    "read or written; 70 our own fault; 130 and 143 interrupted.\n\n"
    "High voltage can kill: what this program proposes is for people who are competent to\n"
    "build it. Predicted values do not replace measuring.";

/// "3/8". False if it is anything else.
bool read_slice(const std::string& text, CompleteArguments& to) {
  const char* const end = text.data() + text.size();
  const auto first = std::from_chars(text.data(), end, to.slice);
  if (first.ec != std::errc{} || first.ptr == end || *first.ptr != '/') return false;
  const auto second = std::from_chars(first.ptr + 1, end, to.slices);
  return second.ec == std::errc{} && second.ptr == end && to.slice >= 1 && to.slice <= to.slices;
}

int run(int argc, char** argv) {
  CLI::App app{"Finds standard parts for the driver stages of push-pull valve amplifiers.", "antiphase"};
  app.footer(kFooter);
  app.require_subcommand(1);
  app.set_help_flag("-h,--help", "Show help and end");
  bool version = false;
  app.add_flag("--version", version, "Show versions and end");
  std::string shell;
  app.add_option("--completion", shell, "Print completions for a shell (bash, zsh or fish) and end")
      ->check(CLI::IsMember({"bash", "zsh", "fish"}))
      ->type_name("SHELL");

  int code = kDone;
  std::string tubes;
  const auto tubes_option = [&](CLI::App* command) {
    command->add_option("--tubes", tubes, "Folder with tube cards instead of the library's")
        ->type_name("DIR");
  };

  SearchArguments search;
  CLI::App* search_command =
      app.add_subcommand("search", "Search parts for a brief; write ranked candidates");
  search_command->add_option("brief", search.brief_file, "The brief (JSON)")
      ->required()
      ->type_name("BRIEF.json");
  search_command->add_option("-o,--out", search.out, "Output folder; default: named after the brief")
      ->type_name("DIR");
  search_command->add_option("--threads", search.threads, "Worker threads; default: all processors")
      ->check(CLI::Range(1, 256))
      ->type_name("N");
  search_command->add_option("--seed", search.seed, "Seed instead of the brief's")->type_name("N");
  search_command->add_option("--effort", search.effort, "quick, normal or thorough instead of the brief's")
      ->check([](const std::string& text) {
        return effort_named(text) ? std::string() : "\"" + text + "\" is not quick, normal or thorough";
      })
      ->type_name("WORD");
  search_command->add_flag("--complete", search.complete.asked,
                           "Go through every combination of the parts: the best is then proved");
  std::string slice;
  search_command
      ->add_option("--slice", slice, "Only the K-th of N parts of a complete search, to share it out")
      ->type_name("K/N");
  search_command
      ->add_option("--merge", search.complete.merge,
                   "Put the slices in these folders together instead of searching")
      ->type_name("DIR...");
  search_command->add_flag("--continue", search.complete.go_on,
                           "Go on from the results in the output folder");
  search_command
      ->add_option("--time-limit", search.time_limit_s, "End after so long with what is found so far")
      ->check(CLI::Range(0.01, 1e7))
      ->type_name("SECONDS");
  search_command
      ->add_option("--against", search.against,
                   "Set the best beside that of other results: a folder or candidates.json")
      ->type_name("DIR");
  std::string plots;
  search_command->add_option("--plots", plots, "Write the main plots as files too; the form is svg")
      ->check(CLI::IsMember({"svg"}))
      ->type_name("FORM");
  search_command->add_flag("--json", search.json, "Print candidates.json on standard output");
  search_command->add_flag("-q,--quiet", search.quiet, "No progress on standard error");
  tubes_option(search_command);
  search_command->callback([&] {
    search.tubes = tubes;
    search.plots = !plots.empty();
    search.complete.asked |= !search.complete.merge.empty() || !slice.empty();
    if (!slice.empty() && !read_slice(slice, search.complete)) {
      std::fprintf(stderr, "antiphase search: \"%s\" is no slice; --slice 3/8 is the third of eight\n",
                   slice.c_str());
      code = kBadInput;
      return;
    }
    if (!slice.empty() && !search.complete.merge.empty()) {
      std::fprintf(stderr, "antiphase search: --slice and --merge do not go together\n");
      code = kBadInput;
      return;
    }
    code = run_search(search);
  });

  EvaluateArguments evaluate;
  CLI::App* evaluate_command = app.add_subcommand("evaluate", "Every figure of one design");
  evaluate_command->add_option("design", evaluate.design_file, "The design (JSON)")
      ->required()
      ->type_name("DESIGN.json");
  evaluate_command->add_flag("--json", evaluate.json, "Print the machine-readable answer");
  tubes_option(evaluate_command);
  evaluate_command->callback([&] {
    evaluate.tubes = tubes;
    code = run_evaluate(evaluate);
  });

  SpreadArguments spread;
  CLI::App* spread_command = app.add_subcommand(
      "spread", "How builds of one design scatter, and what to measure at first switch-on");
  spread_command->add_option("design", spread.design_file, "The design (JSON)")
      ->required()
      ->type_name("DESIGN.json");
  spread_command->add_option("--samples", spread.samples, "Builds; default 10000")
      ->check(CLI::Range(100, 1'000'000))
      ->type_name("N");
  spread_command->add_option("--seed", spread.seed, "Seed of the draws; default 1")->type_name("N");
  spread_command->add_option("--threads", spread.threads, "Worker threads; default: all processors")
      ->check(CLI::Range(1, 256))
      ->type_name("N");
  spread_command->add_option("--brief", spread.brief_file, "A brief whose limits count too")
      ->type_name("BRIEF.json");
  spread_command
      ->add_option("--tolerances", spread.tolerances_file, "Tolerances of parts, tubes and supply (JSON)")
      ->type_name("FILE.json");
  spread_command->add_option("--resistors", spread.resistor_pct, "Tolerance of resistors in %; default 1")
      ->check(CLI::Range(0.0, 50.0))
      ->type_name("PCT");
  spread_command
      ->add_option("--emission", spread.emission_left,
                   "Share of emission left in the most worn tubes, 0.3 … 1; default 1: new tubes")
      ->check(CLI::Range(0.3, 1.0))
      ->type_name("SHARE");
  spread_command->add_flag("--select", spread.select,
                           "Also what one part is worth that is set in each build for balance");
  spread_command->add_flag("--sheet", spread.sheet, "Print the measuring sheet alone");
  spread_command->add_flag("--json", spread.json, "Print the machine-readable answer");
  tubes_option(spread_command);
  spread_command->callback([&] {
    spread.tubes = tubes;
    code = run_spread(spread);
  });

  TubesArguments tube;
  CLI::App* tubes_command =
      app.add_subcommand("tubes", "The tube library, or one tube with its published points");
  tubes_command->add_option("name", tube.name, "A type, e.g. 12AX7 or ECC83")->type_name("NAME");
  tubes_command
      ->add_option("--plot", tube.plot, "Picture of its plate curves over readings and published points")
      ->type_name("FILE.svg");
  tubes_command->add_flag("--substitutes", tube.substitutes,
                          "Which other types could take its place, and what differs");
  tubes_command->add_option("--for", tube.brief_file, "Rank every tube by what it alone reaches for a brief")
      ->type_name("BRIEF.json");
  tubes_command->add_option("--threads", tube.threads, "Worker threads of --for; default: all processors")
      ->check(CLI::Range(1, 256))
      ->type_name("N");
  tubes_command->add_flag("-q,--quiet", tube.quiet, "No progress on standard error");
  tubes_command->add_flag("--json", tube.json, "Print the machine-readable answer");
  tubes_option(tubes_command);
  tubes_command->callback([&] {
    tube.tubes = tubes;
    code = run_tubes(tube);
  });

  SnapArguments snap;
  CLI::App* snap_command =
      app.add_subcommand("snap", "Preferred values near a value, and pairs that come closer");
  snap_command->add_option("value", snap.value, "A resistance, e.g. 31.7k")->required()->type_name("VALUE");
  snap_command->add_option("--series", snap.series, "E3 … E192; default E24")->type_name("SERIES");
  snap_command->add_option("--combinations", snap.combinations, "How many pairs to show; default 5")
      ->check(CLI::Range(0, 50))
      ->type_name("N");
  snap_command->add_flag("--json", snap.json, "Print the machine-readable answer");
  snap_command->callback([&] { code = run_snap(snap); });

  FitArguments fit;
  CLI::App* fit_command = app.add_subcommand("fit", "Fit a triode law to curve readings; write a tube card");
  fit_command->footer(
      "POINTS.csv: lines that begin with # are comments; the first other line is vg_v,va_v,ia_ma (volts, "
      "volts,\n"
      "milliamperes; ia_a for amperes; any order); then one reading a line. FORM: koren_1996,\n"
      "dempwolf_zoelzer_2011, child_langmuir or measured_surface.");
  fit_command->add_option("points", fit.point_files, "Curve readings (CSV)")->type_name("POINTS.csv");
  fit_command->add_option("--tube", fit.tube, "Type number the card is for")->required()->type_name("NAME");
  fit_command->add_option("--model", fit.model, "Law to fit; default koren_1996")->type_name("FORM");
  fit_command->add_option("--towards", fit.towards, "Card whose published law holds a fit to a few points")
      ->type_name("NAME");
  fit_command->add_option("--plot", fit.plot, "Picture of the curves over the readings")
      ->type_name("FILE.svg");
  fit_command->add_option("-o,--out", fit.out, "File for the card; default: standard output")
      ->type_name("CARD.json");
  tubes_option(fit_command);
  fit_command->callback([&] {
    fit.tube_folder = tube_folder(tubes);
    code = run_fit(fit, std::cout, std::cerr);
  });

  try {
    if (argc == 2 && std::string_view(argv[1]) == "--version") {
      std::string text;
      for (const auto& [name, number] : versions()) text += name + " " + number + "\n";
      return print(text) ? kDone : kFileTrouble;
    }
    if (argc == 2 && std::string_view(argv[1]) == "--manual")  // for packagers
      return print(manual_page(app, versions().front().second)) ? kDone : kFileTrouble;
    if (argc == 3 && std::string_view(argv[1]) == "--completion")
      if (const auto script = completion(app, argv[2])) return print(*script) ? kDone : kFileTrouble;
    app.parse(argc, argv);
  } catch (const CLI::CallForHelp& help) {
    std::ostringstream text;
    app.exit(help, text, text);
    return print(text.str()) ? kDone : kFileTrouble;
  } catch (const CLI::ParseError& error) {
    std::string words = error.what();
    std::vector<std::string> texts;
    for (const CLI::App* command : app.get_subcommands({})) texts.push_back(command->get_name());
    const std::vector<std::string_view> names(texts.begin(), texts.end());
    if (argc > 1 && argv[1][0] != '-' && std::find(names.begin(), names.end(), argv[1]) == names.end())
      words =
          "\"" + std::string(argv[1]) + "\" is no command" + did_you_mean(nearest_names(argv[1], names, 2));
    std::fprintf(stderr, "antiphase: %s\nRun antiphase --help for the commands and their options.\n",
                 words.c_str());
    return kBadInput;
  }
  return code;
}

}  // namespace
}  // namespace antiphase

int main(int argc, char** argv) {
  std::signal(SIGXFSZ, SIG_IGN);  // a file that may grow no more is then an ordinary write error
  try {
    return antiphase::run(argc, argv);
  } catch (const std::bad_alloc&) {
    std::fputs("antiphase: not enough memory; nothing was written\n", stderr);
    return antiphase::kNoMemory;
  } catch (const std::exception& error) {
    std::fprintf(stderr, "antiphase: a fault of the program itself: %s\n", error.what());
  } catch (...) {
    std::fputs("antiphase: a fault of the program itself\n", stderr);
  }
  return antiphase::kOurFault;
}
