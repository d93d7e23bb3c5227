/// SHA-256, to say which bytes a brief had. Not for secrets.
#pragma once

#include <string>
#include <string_view>

namespace antiphase {

/// Digest of `bytes`, 64 lower-case hexadecimal digits. Source: FIPS PUB 180-4 (2015), section 6.2.
std::string sha256_hex(std::string_view bytes);

}  // namespace antiphase
