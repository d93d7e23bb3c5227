/// Text into HTML, so that it stays text.
#pragma once

#include <string>
#include <string_view>

namespace antiphase {

/// `text` safe between tags and inside quoted attributes: & < > " ' become references.
std::string html(std::string_view text);

/// "<tag>text</tag>" with the text escaped.
std::string html_element(std::string_view tag, std::string_view text);

}  // namespace antiphase
