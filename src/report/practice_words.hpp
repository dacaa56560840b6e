#pragma once

#include <span>
#include <string>
#include <vector>

#include "evenbevel/practice_view.hpp"
#include "evenbevel/words.hpp"
#include "report/quantities.hpp"

namespace evenbevel {

/// In the order of PracticeCheckKind.
std::span<const QuantityName> practice_quantity_names();
const QuantityName& name_of(PracticeCheckKind kind);

/// "printed +0.100 mm, off -0.002 mm: inside".
std::string practice_note(const PracticeCheck& check, LengthUnit unit);

/// The finding, in capitals, the largest words of picture and page.
std::string practice_headline(const PracticeResult& result, LengthUnit unit);

/// The same as a sentence's rest.
std::string practice_verdict_sentence(const PracticeResult& result, LengthUnit unit);

/// What to do about it, the weightiest first.
std::vector<Remark> practice_advice(const PracticeResult& result);

}  // namespace evenbevel
