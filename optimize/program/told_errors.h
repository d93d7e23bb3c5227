/// What went wrong, told on standard error. Each function gives the exit code that belongs to it.
#pragma once

#include <string>

#include "configs/input_errors.h"
#include "optimize/studies/trouble.h"
#include "results/save.h"

namespace antiphase {

/// Lines as they stand, with a line's end after the last.
int tell_lines(const std::string& lines, int exit_code);

int tell(const InputErrors& errors);

/// "antiphase search: what".
int tell(const std::string& command, const Trouble& trouble);
int tell(const std::string& command, const SaveError& error);

}  // namespace antiphase
