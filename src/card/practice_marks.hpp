#pragma once

namespace evenbevel {

/// Markers of the practice strip's ends, of the cards' dictionary; no card has them.
inline constexpr int kPracticeHandleMark = 900, kPracticeTipMark = 901;

}  // namespace evenbevel
