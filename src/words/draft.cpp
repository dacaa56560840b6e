#include <algorithm>
#include <cassert>

#include "evenbevel/words.hpp"

namespace evenbevel {

void RemarkDraft::put(std::string_view name, RemarkValue value) {
  [[maybe_unused]] const auto of_kind = [&](const RemarkKind::Value& one) {
    return one.name == name && one.number == std::holds_alternative<double>(value);
  };
  assert(std::ranges::any_of(kind_.values, of_kind));
  values_.push_back({std::string(name), std::move(value)});
}

Remark RemarkDraft::done() const {
  Remark remark{.code = kind_.code};
  for (std::size_t i = 0; i < kind_.count(); ++i) {
    const auto given = std::ranges::find(values_, kind_.values[i].name, &NamedRemarkValue::name);
    assert(given != values_.end() || !kind_.values[i].needed);
    if (given != values_.end()) remark.values.push_back(*given);
  }
  return remark;
}

}  // namespace evenbevel
