/// The fixed texts of the page, embedded in the program, with what the browser needs to trust them.
#pragma once

#include <string>
#include <string_view>

namespace antiphase {

struct PageAsset {
  std::string_view text;
  std::string_view sha256_hex;  ///< of `text`, taken when the build was configured
};

const PageAsset& chart_script();  ///< the charts library, minified
const PageAsset& page_script();   ///< page/app/*.js, in one
const PageAsset& page_style();
std::string_view chart_licences();
std::string live_code_base64();  ///< the solver for the page, page/built/live.wasm (RFC 4648, section 4)
std::string_view live_licences();

/// "sha256-…" as a content security policy has it (W3C CSP Level 3, section 2.3.1: base64 of the digest).
std::string csp_hash(const PageAsset&);

}  // namespace antiphase
