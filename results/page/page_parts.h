/// The parts of the page that need no script: text, tables, one block per design. HTML text out.
#pragma once

#include <string>
#include <vector>

#include "results/page/page_data.h"
#include "results/report.h"

namespace antiphase {

std::string page_header(const Report&);
/// Links to what a reader looks for, in that order; stays on the screen.
std::string contents_part(bool designs, bool front);
std::string answer_part();              ///< place for the picked design's drawing, figures and room to limits
std::string brief_part(const Report&);  ///< folded, unless nothing meets it
std::string candidates_part(const Report&, const std::vector<ShownDesign>&);  ///< a table with radio buttons
std::string trade_off_part(const Report&, const std::vector<ShownDesign>&);   ///< holds the picture's place
std::string entries_part(const Report&,
                         const std::vector<ShownDesign>&);  ///< one block each; the script shows one
/// One of them: an article with that id.
std::string entry_block(const Record&, const Demands&, const Tolerances&, const std::string& name,
                        const std::string& id);
std::string live_part();              ///< place where parts are changed and solved again
std::string compare_part();           ///< places for two or three designs side by side
std::string design_tools_part();      ///< what can be done with the picked design
std::string front_design_part();      ///< place for a member of the front that is no entry
std::string pictures_part();          ///< places of the pictures of one design
std::string how_part(const Report&);  ///< how it was computed, the run, licences

}  // namespace antiphase
