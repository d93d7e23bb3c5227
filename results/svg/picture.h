/// What every picture that stands alone has in common: size, heading, words for those who do not see it.
#pragma once

#include <string>
#include <string_view>

namespace antiphase {

inline constexpr double kPictureWide = 860, kPictureHigh = 600;

/// A whole SVG file: title and description (shown as text), a style sheet with its tag, a heading at
/// `heading_x`, then the body, and the safety caution below kPictureHigh.
std::string picture(std::string_view title, std::string_view description, std::string_view style,
                    double heading_x, std::string_view body);

}  // namespace antiphase
