#pragma once

#include "evenbevel/photo.hpp"
#include "options.hpp"
#include "settle.hpp"

namespace evenbevel::cli {

/// `edge PHOTO --practice`: prints what the practice strip shows and writes its report.
/// @return  0: the chain holds; 1: it does not.
int run_practice(Photo photo, CommonOptions options, PhotoSource source);

}  // namespace evenbevel::cli
