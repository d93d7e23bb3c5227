/// The command line described in other forms: a manual page and completions for shells. All are made from the
/// commands and options themselves, so that they cannot fall behind.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace CLI {
class App;
}

namespace antiphase {

/// Section 1 of the manual, in the man(7) macros.
std::string manual_page(const CLI::App& app, std::string_view version);

/// A script for "bash", "zsh" or "fish"; empty for any other shell.
std::optional<std::string> completion(const CLI::App& app, std::string_view shell);

}  // namespace antiphase
