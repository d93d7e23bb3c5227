#include "optimize/program/command_line.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <charconv>
#include <sstream>

#include "configs/nearest_names.h"
#include "optimize/program/command_text.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/versions.h"
#include "optimize/studies/effort.h"
#include "results/text/read_quantity.h"

namespace antiphase {
namespace {

constexpr const char* kExamples =
    "Examples:\n"
    "  antiphase new --pair EL84 --supply 300 > brief.json\n"
    "  antiphase search brief.json\n"
    "  antiphase evaluate configs/designs/high_mu_self_biased.json\n"
    "  antiphase readings configs/designs/high_mu_self_biased.json meter.csv\n"
    "  antiphase tubes 12AX7\n"
    "  antiphase snap 31.7k --series E24\n\n"
    "Exit codes:";

constexpr const char* kSafety =
    "\n\nHigh voltage can kill: what this program proposes is for people who are competent to\n"
    "build it. Predicted values do not replace measuring.";

/// "3/8". False if it is anything else.
bool read_slice(const std::string& text, CompleteArguments& to) {
  const char* const end = text.data() + text.size();
  const auto first = std::from_chars(text.data(), end, to.slice);
  if (first.ec != std::errc{} || first.ptr == end || *first.ptr != '/') return false;
  const auto second = std::from_chars(first.ptr + 1, end, to.slices);
  return second.ec == std::errc{} && second.ptr == end && to.slice >= 1 && to.slice <= to.slices;
}

/// What the options of all commands write into while a line is read.
struct Arguments {
  SearchArguments search;
  EvaluateArguments evaluate;
  SpreadArguments spread;
  ReadingsArguments readings;
  TubesArguments tubes;
  SnapArguments snap;
  FitArguments fit;
  NewArguments start;
  std::string slice, plots;
};

void add_tubes_options(CLI::App* command, CardsAsked& cards) {
  command->add_option("--tubes", cards.added, "Folder with tube cards of one's own, beside the library's")
      ->type_name("DIR");
  command->add_option("--only-tubes", cards.only, "Folder with tube cards instead of the library's")
      ->type_name("DIR");
}

void add_tube_readings(CLI::App* command, std::vector<std::string>& files) {
  command
      ->add_option("--tube-readings", files,
                   "Readings of one very tube (CSV): what its sections are, between them and the type")
      ->type_name("FILE.csv")
      ->expected(1)
      ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
}

void add_new(CLI::App& app, Arguments& arguments, CommandAsked& asked) {
  NewArguments& start = arguments.start;
  CLI::App* const command =
      app.add_subcommand("new", "A brief to start from, out of a handful of facts; asks at a terminal");
  for (const StartingFact& fact : starting_facts())
    command->add_option("--" + std::string(fact.flag), start.facts.*fact.text, std::string(fact.description))
        ->type_name(std::string(fact.type_name));
  command->add_option("-o,--out", start.out, "File for the brief; default: standard output")
      ->type_name("BRIEF.json");
  add_tubes_options(command, start.tubes);
  command->callback([&] { asked = start; });
}

void add_search(CLI::App& app, Arguments& arguments, CommandAsked& asked) {
  SearchArguments& search = arguments.search;
  CLI::App* const command = app.add_subcommand("search", "Search parts for a brief; write ranked candidates");
  command->add_option("brief", search.brief_file, "The brief (JSON)")->required()->type_name("BRIEF.json");
  command->add_option("-o,--out", search.out, "Output folder; default: named after the brief")
      ->type_name("DIR");
  command->add_option("--threads", search.threads, "Worker threads; default: all processors")
      ->check(CLI::Range(1, 256))
      ->type_name("N");
  command->add_option("--seed", search.seed, "Seed instead of the brief's")->type_name("N");
  command->add_option("--effort", search.effort, "quick, normal or thorough instead of the brief's")
      ->check([](const std::string& text) {
        return effort_named(text) ? std::string() : "\"" + text + "\" is not quick, normal or thorough";
      })
      ->type_name("WORD");
  command->add_flag("--complete", search.complete.asked,
                    "Go through every combination of the parts: the best is then proved");
  command
      ->add_option("--slice", arguments.slice,
                   "Only the K-th of N parts of a complete search, to share it out")
      ->type_name("K/N");
  command
      ->add_option("--merge", search.complete.merge,
                   "Put the slices in these folders together instead of searching")
      ->type_name("DIR...");
  command->add_flag("--continue", search.complete.go_on, "Go on from the results in the output folder");
  command->add_option("--time-limit", search.time_limit_s, "End after so long with what is found so far")
      ->check(CLI::Range(0.01, 1e7))
      ->type_name("SECONDS");
  command
      ->add_option("--against", search.against,
                   "Set the best beside that of other results: a folder or candidates.json")
      ->type_name("DIR");
  command->add_option("--plots", arguments.plots, "Write the main plots as files too; the form is svg")
      ->check(CLI::IsMember({"svg"}))
      ->type_name("FORM");
  command->add_flag("--spread", search.spread,
                    "Also how builds of every candidate scatter, with their measuring sheets");
  command->add_flag("--explain", search.explain,
                    "Print everything: bands, the trade-off, why the first is first");
  command->add_flag("--json", search.json, "Print candidates.json on standard output");
  command->add_flag("-q,--quiet", search.quiet, "No progress on standard error");
  add_tube_readings(command, search.tube_readings);
  add_tubes_options(command, search.tubes);
  command->callback([&] {
    search.plots = !arguments.plots.empty();
    search.complete.asked |= !search.complete.merge.empty() || !arguments.slice.empty();
    if (!arguments.slice.empty() && !read_slice(arguments.slice, search.complete))
      asked =
          WrongUsage{"search: \"" + arguments.slice + "\" is no slice; --slice 3/8 is the third of eight"};
    else if (!arguments.slice.empty() && !search.complete.merge.empty())
      asked = WrongUsage{"search: --slice and --merge do not go together"};
    else
      asked = search;
  });
}

void add_evaluate(CLI::App& app, Arguments& arguments, CommandAsked& asked) {
  EvaluateArguments& evaluate = arguments.evaluate;
  CLI::App* const command =
      app.add_subcommand("evaluate", "Every figure of one design, or several side by side");
  command->add_option("design", evaluate.design_files, "The design (JSON); several stand side by side")
      ->required()
      ->type_name("DESIGN.json");
  command->add_option("--parts", evaluate.parts, "Write the parts to buy as a table, with their ratings")
      ->type_name("FILE.csv");
  command
      ->add_option("--netlist", evaluate.netlist, "Write the circuit for a general simulator (SPICE lines)")
      ->type_name("FILE");
  command->add_flag("--explain", evaluate.explain,
                    "Print everything: harmonics, frequencies, levels, overdrive, parts, limits");
  command->add_flag("--json", evaluate.json, "Print the machine-readable answer");
  add_tube_readings(command, evaluate.tube_readings);
  add_tubes_options(command, evaluate.tubes);
  command->callback([&] {
    if (evaluate.design_files.size() > 1 && !(evaluate.parts.empty() && evaluate.netlist.empty()))
      asked = WrongUsage{"evaluate: --parts and --netlist are of one design; give one"};
    else
      asked = evaluate;
  });
}

void add_spread(CLI::App& app, Arguments& arguments, CommandAsked& asked) {
  SpreadArguments& spread = arguments.spread;
  CLI::App* const command = app.add_subcommand(
      "spread", "How builds of one design scatter, and what to measure at first switch-on");
  command->add_option("design", spread.design_file, "The design (JSON)")
      ->required()
      ->type_name("DESIGN.json");
  command->add_option("--samples", spread.samples, "Builds; default 10000")
      ->check(CLI::Range(100, 1'000'000))
      ->type_name("N");
  command->add_option("--seed", spread.seed, "Seed of the draws; default 1")->type_name("N");
  command->add_option("--threads", spread.threads, "Worker threads; default: all processors")
      ->check(CLI::Range(1, 256))
      ->type_name("N");
  command->add_option("--brief", spread.brief_file, "A brief whose limits count too")
      ->type_name("BRIEF.json");
  command->add_option("--tolerances", spread.tolerances_file, "Tolerances of parts, tubes and supply (JSON)")
      ->type_name("FILE.json");
  command->add_option("--resistors", spread.resistor_pct, "Tolerance of resistors in %; default 1")
      ->check(CLI::Range(0.0, 50.0))
      ->type_name("PCT");
  command
      ->add_option("--emission", spread.emission_left,
                   "Share of emission left in the most worn tubes, 0.3 … 1; default 1: new tubes")
      ->check(CLI::Range(0.3, 1.0))
      ->type_name("SHARE");
  command->add_flag("--select", spread.select,
                    "Also what one part is worth that is set in each build for balance");
  command->add_flag("--sheet", spread.sheet, "Print the measuring sheet alone");
  command->add_flag("--json", spread.json, "Print the machine-readable answer");
  add_tube_readings(command, spread.tube_readings);
  add_tubes_options(command, spread.tubes);
  command->callback([&] { asked = spread; });
}

void add_readings(CLI::App& app, Arguments& arguments, CommandAsked& asked) {
  ReadingsArguments& readings = arguments.readings;
  CLI::App* const command =
      app.add_subcommand("readings", "What is in a box that was built, from what a meter read in it");
  command->footer(
      "METER.csv: lines that begin with # are comments; then one reading a line, under its name on the\n"
      "measuring sheet: plate 1,206 V or plate 2,190,V,2% (its accuracy). meter,10M gives the meter's\n"
      "resistance, output 1 signal,31 Vrms,input 1.2 Vrms,at 1 kHz is a signal, mains,231 V the mains.\n"
      "High voltage can kill: clip on with the power off and discharged, one hand away;\n"
      "rest voltages first.");
  command->add_option("design", readings.design_file, "The design (JSON)")
      ->required()
      ->type_name("DESIGN.json");
  command->add_option("meter", readings.meter_file, "Readings (CSV); default: asked for at a terminal")
      ->type_name("METER.csv");
  command->add_flag("--ask", readings.ask, "Ask for the readings, one after another");
  command->add_flag("--pairs", readings.pairs, "Also two faults at once");
  command->add_option("--meter", readings.meter_ohm, "Resistance of the meter; default 10M")
      ->check([](const std::string& text) {
        const auto ohm = read_quantity(text, "ohm");
        return ohm && *ohm >= 1e3 && *ohm <= 1e12 ? std::string()
                                                  : "\"" + text + "\" is no resistance from 1k to 1T";
      })
      ->type_name("OHM");
  command
      ->add_option("--accuracy", readings.accuracy_pct,
                   "Accuracy of the meter in % of the reading; default 1")
      ->check(CLI::Range(0.001, 50.0))
      ->type_name("PCT");
  command
      ->add_option("--tolerances", readings.tolerances_file, "Tolerances of parts, tubes and supply (JSON)")
      ->type_name("FILE.json");
  command->add_option("--resistors", readings.resistor_pct, "Tolerance of resistors in %; default 1")
      ->check(CLI::Range(0.0, 50.0))
      ->type_name("PCT");
  command
      ->add_option("--emission", readings.emission_left,
                   "Share of emission left in the most worn tubes, 0.3 … 1; default 1: new tubes")
      ->check(CLI::Range(0.3, 1.0))
      ->type_name("SHARE");
  command->add_option("--threads", readings.threads, "Worker threads; default: all processors")
      ->check(CLI::Range(1, 256))
      ->type_name("N");
  command->add_flag("--json", readings.json, "Print the machine-readable answer");
  add_tubes_options(command, readings.tubes);
  command->callback([&] { asked = readings; });
}

void add_tubes(CLI::App& app, Arguments& arguments, CommandAsked& asked) {
  TubesArguments& tubes = arguments.tubes;
  CLI::App* const command =
      app.add_subcommand("tubes", "The tube library, or one tube with its published points");
  command->add_option("name", tubes.name, "A type, e.g. 12AX7 or ECC83")->type_name("NAME");
  command->add_option("--plot", tubes.plot, "Picture of its plate curves over readings and published points")
      ->type_name("FILE.svg");
  command->add_flag("--substitutes", tubes.substitutes,
                    "Which other types could take its place, and what differs");
  command->add_option("--for", tubes.brief_file, "Rank every tube by what it alone reaches for a brief")
      ->type_name("BRIEF.json");
  command->add_option("--threads", tubes.threads, "Worker threads of --for; default: all processors")
      ->check(CLI::Range(1, 256))
      ->type_name("N");
  command->add_flag("-q,--quiet", tubes.quiet, "No progress on standard error");
  command->add_flag("--json", tubes.json, "Print the machine-readable answer");
  add_tubes_options(command, tubes.tubes);
  command->callback([&] { asked = tubes; });
}

void add_snap(CLI::App& app, Arguments& arguments, CommandAsked& asked) {
  SnapArguments& snap = arguments.snap;
  CLI::App* const command =
      app.add_subcommand("snap", "Preferred values near a value, and pairs that come closer");
  command->add_option("value", snap.value, "A resistance, e.g. 31.7k")->required()->type_name("VALUE");
  command->add_option("--series", snap.series, "E3 … E192; default E24")->type_name("SERIES");
  command->add_option("--combinations", snap.combinations, "How many pairs to show; default 5")
      ->check(CLI::Range(0, 50))
      ->type_name("N");
  command->add_flag("--json", snap.json, "Print the machine-readable answer");
  command->callback([&] { asked = snap; });
}

void add_fit(CLI::App& app, Arguments& arguments, CommandAsked& asked) {
  FitArguments& fit = arguments.fit;
  CLI::App* const command =
      app.add_subcommand("fit", "Fit a triode law to curve readings; write a tube card");
  command->footer(
      "POINTS.csv: lines that begin with # are comments; the first other line is vg_v,va_v,ia_ma (volts, "
      "volts,\n"
      "milliamperes; ia_a for amperes; any order); then one reading a line. FORM: koren_1996,\n"
      "dempwolf_zoelzer_2011, child_langmuir, measured_surface or island_triode.");
  command->add_option("points", fit.point_files, "Curve readings (CSV)")->type_name("POINTS.csv");
  command->add_option("--tube", fit.tube, "Type number the card is for")->required()->type_name("NAME");
  command->add_option("--model", fit.model, "Law to fit; default koren_1996")->type_name("FORM");
  command->add_option("--towards", fit.towards, "Card whose published law holds a fit to a few points")
      ->type_name("NAME");
  command
      ->add_option("--like", fit.like,
                   "Card from which a type without one takes ratings and capacitances, each marked")
      ->type_name("NAME");
  command->add_option("--plot", fit.plot, "Picture of the curves over the readings")->type_name("FILE.svg");
  command->add_option("-o,--out", fit.out, "File for the card; default: standard output")
      ->type_name("CARD.json");
  add_tubes_options(command, fit.tubes);
  command->callback([&] { asked = fit; });
}

/// What the first option that the command does not have may have been meant for.
std::string meant_option(const CLI::App& app, int argc, const char* const* argv) {
  const auto of_this_name = [&](const CLI::App* c) { return argc > 1 && c->get_name() == argv[1]; };
  const auto commands = app.get_subcommands(of_this_name);
  if (commands.empty()) return {};
  const CLI::App* const command = commands.front();
  std::vector<std::string> texts;
  for (const CLI::Option* option : command->get_options())
    for (const std::string& name : option->get_lnames()) texts.push_back("--" + name);
  const std::vector<std::string_view> known(texts.begin(), texts.end());
  for (int i = 2; i < argc; ++i) {
    std::string_view word = argv[i];
    word = word.substr(0, word.find('='));
    if (word.starts_with("--") && word.size() > 2 &&
        std::find(known.begin(), known.end(), word) == known.end())
      return did_you_mean(nearest_names(word, known, 2));
  }
  return {};
}

}  // namespace

CommandAsked read_command_line(int argc, const char* const* argv) {
  CLI::App app{"Finds standard parts for the driver stages of push-pull valve amplifiers.", "antiphase"};
  app.footer(kExamples + exit_codes_in_words() + kSafety);
  app.require_subcommand(1);
  app.set_help_flag("-h,--help", "Show help and end");
  bool version = false;
  app.add_flag("--version", version, "Show versions and end");
  std::string shell;
  app.add_option("--completion", shell, "Print completions for a shell (bash, zsh or fish) and end")
      ->check(CLI::IsMember({"bash", "zsh", "fish"}))
      ->type_name("SHELL");
  Arguments arguments;
  CommandAsked asked = WrongUsage{"no command"};
  add_new(app, arguments, asked);
  add_search(app, arguments, asked);
  add_evaluate(app, arguments, asked);
  add_spread(app, arguments, asked);
  add_readings(app, arguments, asked);
  add_tubes(app, arguments, asked);
  add_snap(app, arguments, asked);
  add_fit(app, arguments, asked);

  if (argc == 2 && std::string_view(argv[1]) == "--version") {
    std::string text;
    for (const auto& [name, number] : versions()) text += name + " " + number + "\n";
    return TextAsked{text};
  }
  if (argc == 2 && std::string_view(argv[1]) == "--manual")  // for packagers
    return TextAsked{manual_page(app, versions().front().second)};
  if (argc == 3 && std::string_view(argv[1]) == "--completion")
    if (const auto script = completion(app, argv[2])) return TextAsked{*script};
  try {
    app.parse(argc, argv);
  } catch (const CLI::CallForHelp& help) {
    std::ostringstream text;
    app.exit(help, text, text);
    return TextAsked{text.str()};
  } catch (const CLI::ParseError& error) {
    std::vector<std::string> texts;
    for (const CLI::App* command : app.get_subcommands({})) texts.push_back(command->get_name());
    const std::vector<std::string_view> names(texts.begin(), texts.end());
    if (argc > 1 && argv[1][0] != '-' && std::find(names.begin(), names.end(), argv[1]) == names.end())
      return WrongUsage{"\"" + std::string(argv[1]) + "\" is no command" +
                        did_you_mean(nearest_names(argv[1], names, 2))};
    return WrongUsage{error.what() + meant_option(app, argc, argv)};
  }
  return asked;
}

}  // namespace antiphase
