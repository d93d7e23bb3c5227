#include "results/page/assets.h"

#include <doctest/doctest.h>

#include <cstdio>
#include <fstream>
#include <sstream>

#include "configs/sha256.h"

using namespace antiphase;

namespace {

std::string file_text(const std::string& path) {
  std::ifstream in(std::string(ANTIPHASE_SOURCE) + "/" + path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

}  // namespace

TEST_CASE("the digests in the policy are those of the embedded bytes") {
  for (const PageAsset* a : {&chart_script(), &page_script(), &page_style()}) {
    CHECK(a->text.size() > 1000);
    CHECK(a->sha256_hex == sha256_hex(a->text));
  }
}

TEST_CASE("the policy has a digest in base64, as RFC 4648 encodes it") {
  // SHA-256 of "abc": FIPS 180-4 example; its base64 by RFC 4648, section 4 (coreutils' base64 agrees).
  const PageAsset abc{"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"};
  CHECK(csp_hash(abc) == "sha256-ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0=");
}

TEST_CASE("the chart bundle is the vendored file, byte for byte") {
  CHECK(chart_script().text == file_text("results/page/built/charts.min.js"));
  CHECK(chart_licences() == file_text("results/page/built/LICENCES.txt"));
}
