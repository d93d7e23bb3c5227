#include "optimize/program/command_text.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <vector>

#include "results/text/wording.h"

namespace antiphase {
namespace {

struct OptionText {
  std::vector<std::string> names;     // "--out", "-o"
  std::string argument, description;  // argument empty: a flag
};

struct CommandText {
  std::string name, description, footer;
  std::vector<std::string> positionals;
  std::vector<OptionText> options;
};

CommandText describe(const CLI::App& app) {
  CommandText c{app.get_name(), app.get_description(), app.get_footer(), {}, {}};
  for (const CLI::Option* o : app.get_options()) {
    if (o->get_group().empty()) continue;  // hidden
    if (o->get_positional()) {
      c.positionals.push_back(o->get_type_name().empty() ? o->get_name() : o->get_type_name());
      continue;
    }
    std::string argument = o->get_items_expected_max() > 0 ? o->get_type_name() : "";
    argument.resize(std::min(argument.size(), argument.find(':')));  // behind it stands what a check allows
    OptionText option{{}, std::move(argument), o->get_description()};
    for (const std::string& n : o->get_snames()) option.names.push_back("-" + n);
    for (const std::string& n : o->get_lnames()) option.names.push_back("--" + n);
    c.options.push_back(std::move(option));
  }
  return c;
}

std::vector<CommandText> commands(const CLI::App& app) {
  std::vector<CommandText> all;
  for (const CLI::App* sub : app.get_subcommands([](const CLI::App*) { return true; }))
    all.push_back(describe(*sub));
  return all;
}

/// Text for roff: backslashes and hyphens as they are, no line that begins a macro.
std::string roff(std::string_view text) {
  std::string out;
  bool line_begins = true;
  for (const char c : text) {
    if (line_begins && (c == '.' || c == '\'')) out += "\\&";
    line_begins = c == '\n';
    if (c == '\\')
      out += "\\e";
    else if (c == '-')
      out += "\\-";
    else
      out += c;
  }
  return out;
}

void manual_of(const CommandText& c, std::string& out) {
  for (const OptionText& o : c.options) {
    out += ".TP\n.BR ";
    for (std::size_t i = 0; i < o.names.size(); ++i) out += (i ? " \", \" " : "") + roff(o.names[i]);
    if (!o.argument.empty()) out += " \" \" \\fI" + roff(o.argument) + "\\fR";
    out += "\n" + roff(o.description) + ".\n";
  }
}

std::string without(std::string_view text, std::string_view dropped) {
  std::string out;
  for (const char c : text)
    if (dropped.find(c) == std::string_view::npos) out += c;
  return out;
}

/// In single quotes for a POSIX shell.
std::string in_quotes(std::string_view text) {
  std::string out = "'";
  for (const char c : text) {
    if (c == '\'')
      out += "'\\''";
    else
      out += c;
  }
  return out + "'";
}

std::vector<std::string> all_names(const CommandText& c) {
  std::vector<std::string> names;
  for (const OptionText& o : c.options) names.insert(names.end(), o.names.begin(), o.names.end());
  return names;
}

std::string for_bash(const CLI::App& app) {
  std::string names, cases;
  for (const CommandText& c : commands(app)) {
    names += (names.empty() ? "" : " ") + c.name;
    cases += "    " + c.name + ") options=\"" + joined(all_names(c), " ") + "\" ;;\n";
  }
  return "# bash completion for antiphase\n"
         "_antiphase() {\n"
         "  local word=${COMP_WORDS[COMP_CWORD]} options=\"\"\n"
         "  if [ \"$COMP_CWORD\" -eq 1 ]; then\n"
         "    COMPREPLY=($(compgen -W \"" +
         names + " " + joined(all_names(describe(app)), " ") +
         "\" -- \"$word\"))\n"
         "    return\n"
         "  fi\n"
         "  case ${COMP_WORDS[1]} in\n" +
         cases +
         "  esac\n"
         "  if [[ $word == -* ]]; then\n"
         "    COMPREPLY=($(compgen -W \"$options\" -- \"$word\"))\n"
         "  else\n"
         "    COMPREPLY=($(compgen -f -- \"$word\"))\n"
         "  fi\n"
         "}\n"
         "complete -o filenames -F _antiphase antiphase\n";
}

std::string for_zsh(const CLI::App& app) {
  std::string names, cases;
  for (const CommandText& c : commands(app)) {
    names += "      " + in_quotes(c.name + ":" + c.description) + "\n";
    cases += "      " + c.name + ")\n        _arguments \\\n";
    for (const OptionText& o : c.options)
      for (const std::string& n : o.names)
        cases += "          " +
                 in_quotes(n + "[" + without(o.description, "[]:") + "]" +
                           (o.argument.empty() ? "" : ":" + o.argument + ":_files")) +
                 " \\\n";
    cases += "          '*:file:_files' ;;\n";
  }
  return "#compdef antiphase\n"
         "_antiphase() {\n"
         "  if (( CURRENT == 2 )); then\n"
         "    local -a commands\n"
         "    commands=(\n" +
         names +
         "    )\n"
         "    _describe command commands\n"
         "  else\n"
         "    local command=$words[2]\n"
         "    shift words\n"
         "    (( CURRENT-- ))\n"
         "    case $command in\n" +
         cases +
         "    esac\n"
         "  fi\n"
         "}\n"
         "_antiphase \"$@\"\n";
}

std::string for_fish(const CLI::App& app) {
  std::string out = "# fish completion for antiphase\n";
  const std::string none = "complete -c antiphase -n __fish_use_subcommand -f ";
  for (const CommandText& c : commands(app))
    out += none + "-a " + c.name + " -d " + in_quotes(c.description) + "\n";
  for (const CommandText& c : commands(app))
    for (const OptionText& o : c.options) {
      out += "complete -c antiphase -n '__fish_seen_subcommand_from " + c.name + "'";
      for (const std::string& n : o.names)
        out += n.starts_with("--") ? " -l " + n.substr(2) : " -s " + n.substr(1);
      out += (o.argument.empty() ? "" : " -r") + std::string(" -d ") + in_quotes(o.description) + "\n";
    }
  return out;
}

}  // namespace

std::string manual_page(const CLI::App& app, std::string_view version) {
  const CommandText top = describe(app);
  std::string out = ".TH ANTIPHASE 1 \"\" \"antiphase " + std::string(version) + "\" \"User commands\"\n";
  out +=
      ".SH NAME\nantiphase \\- finds standard parts for the driver stages of push\\-pull valve amplifiers\n";
  out += ".SH SYNOPSIS\n.B antiphase\n.I COMMAND\n[options]\n";
  out +=
      ".SH DESCRIPTION\n" + roff(top.description) +
      "\nA brief in JSON says which tubes, supply and swing there are and what counts; the program searches "
      "standard resistors for the two small stages before the output valves and writes ranked sets of them. "
      "Briefs, designs and cards that come with it stand in /usr/share/antiphase.\n";
  for (const CommandText& c : commands(app)) {
    out += ".SH antiphase " + roff(c.name);
    for (const std::string& p : c.positionals) out += " " + roff(p);
    out += "\n" + roff(c.description) + ".\n";
    manual_of(c, out);
    if (!c.footer.empty()) out += ".PP\n" + roff(c.footer) + "\n";
  }
  return out + ".SH NOTES\n.nf\n" + roff(top.footer) + "\n.fi\n";
}

std::optional<std::string> completion(const CLI::App& app, std::string_view shell) {
  if (shell == "bash") return for_bash(app);
  if (shell == "zsh") return for_zsh(app);
  if (shell == "fish") return for_fish(app);
  return std::nullopt;
}

}  // namespace antiphase
