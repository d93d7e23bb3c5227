#include "results/writers/report_page.h"

#include "results/describe/safety.h"
#include "results/page/assets.h"
#include "results/page/page_parts.h"
#include "results/text/html.h"

namespace antiphase {
namespace {

/// Scripts and style run only if they are, byte for byte, the ones whose digests stand here; nothing is
/// fetched from anywhere. 'wasm-unsafe-eval' lets the page compile its solver, and no text as a script.
/// Source: W3C, Content Security Policy Level 3.
std::string security_policy() {
  return "default-src 'none'; script-src '" + csp_hash(chart_script()) + "' '" + csp_hash(page_script()) +
         "' 'wasm-unsafe-eval'; style-src '" + csp_hash(page_style()) +
         "'; img-src data: blob:; base-uri 'none'; form-action 'none'";
}

std::string head(const Report& report) {
  return "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
         "<meta http-equiv=\"Content-Security-Policy\" content=\"" +
         security_policy() +
         "\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
         "<meta name=\"color-scheme\" content=\"light dark\">\n<meta name=\"referrer\" "
         "content=\"no-referrer\">\n" +
         html_element("title", report.title.empty() ? "Driver stage" : report.title) + "\n<style>" +
         std::string(page_style().text) + "</style>\n</head>\n";
}

std::string safety_part() {
  std::string out = "<section id=\"safety\"><h2>Safety</h2><ul class=\"danger\">";
  for (std::string_view note : kSafetyNotes) out += html_element("li", note);
  return out + "</ul></section>\n";
}

std::string script(std::string_view text) {
  return "<script>" + std::string(text) + "</script>\n";
}

}  // namespace

std::string report_page(const Report& report) {
  const std::vector<ShownDesign> entries = shown_designs(report);
  std::string out = head(report) + "<body>\n" + page_header(report) +
                    contents_part(!entries.empty(), !report.pareto.empty()) + "<main>\n";
  const bool met = !report.candidates.empty() && report.candidates.front().feasible;
  if (!met) out += brief_part(report);  // with what stands in the way
  if (!entries.empty()) {
    out += answer_part() + candidates_part(report, entries);
    if (met) out += brief_part(report);
    out += design_tools_part() + live_part();
    out += entries_part(report, entries) + front_design_part() + pictures_part();
    if (!report.pareto.empty()) out += trade_off_part(report, entries);
    out += compare_part();
    out +=
        "<noscript><p class=\"warn\">The pictures need JavaScript, which is off here; every number stands in "
        "the "
        "tables.</p></noscript>\n";
  }
  out += safety_part() + how_part(report) + "</main>\n";
  out += "<script type=\"application/json\" id=\"report-data\">" + page_data(report, entries) + "</script>\n";
  if (!entries.empty())
    out += "<script type=\"application/octet-stream\" id=\"live-code\">" + live_code_base64() + "</script>\n";
  return out + script(chart_script().text) + script(page_script().text) + "</body>\n</html>\n";
}

}  // namespace antiphase
