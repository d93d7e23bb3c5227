/// The forms of triode laws by their names.
#pragma once

#include <string>
#include <string_view>

#include "optimize/studies/trouble.h"
#include "stagemodels/tubes/law.h"

namespace antiphase {

std::string_view form_of(const TriodeLaw&);

/// The law of that form with the parameters that its struct begins with. Trouble: there is no such form.
OrTrouble<TriodeLaw> law_of_form(const std::string& form);

}  // namespace antiphase
