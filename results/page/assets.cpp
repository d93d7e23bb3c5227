#include "results/page/assets.h"

#include <algorithm>
#include <cassert>

#include "page_digests.h"  // made by CMake when it configures: kChartsSha256, kScriptSha256, kStyleSha256

extern "C" {
extern const char antiphase_charts_begin[], antiphase_charts_end[];
extern const char antiphase_script_begin[], antiphase_script_end[];
extern const char antiphase_style_begin[], antiphase_style_end[];
extern const char antiphase_licences_begin[], antiphase_licences_end[];
extern const char antiphase_live_begin[], antiphase_live_end[];
extern const char antiphase_live_licences_begin[], antiphase_live_licences_end[];
}

namespace antiphase {
namespace {

std::string_view between(const char* begin, const char* end) {
  return {begin, static_cast<std::size_t>(end - begin)};
}

/// Base64 (RFC 4648, section 4).
std::string base64(std::string_view bytes) {
  constexpr std::string_view kSigns = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  out.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t at = 0; at < bytes.size(); at += 3) {  // three bytes make four signs
    unsigned bits = 0;
    for (std::size_t i = at; i < at + 3; ++i)
      bits = bits << 8 | (i < bytes.size() ? static_cast<unsigned char>(bytes[i]) : 0u);
    const std::size_t there = std::min<std::size_t>(3, bytes.size() - at);
    for (std::size_t i = 0; i < 4; ++i) out += i <= there ? kSigns[bits >> (18 - 6 * i) & 63] : '=';
  }
  return out;
}

unsigned nibble(char c) {
  return static_cast<unsigned>(c <= '9' ? c - '0' : c - 'a' + 10);
}

/// The bytes that lower-case hexadecimal stands for.
std::string bytes_of_hex(std::string_view hex) {
  assert(hex.size() % 2 == 0);
  std::string out;
  for (std::size_t i = 0; i + 1 < hex.size(); i += 2)
    out += static_cast<char>(nibble(hex[i]) << 4 | nibble(hex[i + 1]));
  return out;
}

}  // namespace

const PageAsset& chart_script() {
  static const PageAsset asset{between(antiphase_charts_begin, antiphase_charts_end), kChartsSha256};
  return asset;
}

const PageAsset& page_script() {
  static const PageAsset asset{between(antiphase_script_begin, antiphase_script_end), kScriptSha256};
  return asset;
}

const PageAsset& page_style() {
  static const PageAsset asset{between(antiphase_style_begin, antiphase_style_end), kStyleSha256};
  return asset;
}

std::string_view chart_licences() {
  return between(antiphase_licences_begin, antiphase_licences_end);
}

std::string live_code_base64() {
  return base64(between(antiphase_live_begin, antiphase_live_end));
}

std::string_view live_licences() {
  return between(antiphase_live_licences_begin, antiphase_live_licences_end);
}

std::string csp_hash(const PageAsset& asset) {
  return "sha256-" + base64(bytes_of_hex(asset.sha256_hex));
}

}  // namespace antiphase
