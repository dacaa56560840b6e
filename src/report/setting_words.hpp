#pragma once

#include <string>

#include "evenbevel/statement.hpp"

namespace evenbevel {

/// Every setting with where it came from: "thickness 3.4 mm (knife), tolerance 0.05 mm (shop.toml),
/// camera phone.yml (found by EXIF), printed bar (assumed)". Empty: the statement does not say.
InUnits settings_words(const Statement& statement);

/// The same of settings whose values stand elsewhere: "tolerance (shop.toml), units (default)".
std::string settings_words(const Facts& from);

}  // namespace evenbevel
