#include "advice/amount.hpp"

#include <algorithm>
#include <cmath>

#include "advice/facets.hpp"

namespace evenbevel {

const Measured& need_of(const Need& need, Face face) {
  return face == Face::left ? need.left_mm : need.right_mm;
}

Amount amount_of(const Zone& zone, Face face) {
  const auto size_of = [face](const Need& need) { return std::abs(need_of(need, face).value); };
  const auto by_size = [&](const Need& a, const Need& b) { return size_of(a) < size_of(b); };
  const auto [least, most] = std::minmax_element(zone.needs.begin(), zone.needs.end(), by_size);
  Amount amount;
  amount.mean_mm = need_of(zone.mean, face);
  amount.most_x_mm = most->x_mm;
  amount.mean_mm.value = std::abs(amount.mean_mm.value);
  if (size_of(*most) - size_of(*least) <= 2.0 * U95(amount.mean_mm)) return amount;
  amount.most_mm = size_of(*most);
  if (standing(need_of(*least, face)) != Standing::on_line) amount.least_mm = size_of(*least);
  return amount;
}

void add_few(RemarkDraft& draft, const Amount& amount) {
  draft.with("least_mm", amount.least_mm).with("most_mm", amount.most_mm);
  if (!amount.most_mm) draft.with("by_mm", amount.mean_mm.value);
  draft.with("U95_mm", U95(amount.mean_mm));
}

void add_amount(RemarkDraft& draft, const Amount& amount, const std::string& prefix) {
  draft.with(prefix + "least_mm", amount.least_mm).with(prefix + "most_mm", amount.most_mm);
  if (amount.most_mm) draft.with(prefix + "most_x_mm", amount.most_x_mm);
  if (!amount.most_mm) draft.with(prefix + "by_mm", amount.mean_mm.value);
  draft.with(prefix + "U95_mm", U95(amount.mean_mm));
}

void add_into_facet(RemarkDraft& draft, const Amount& amount, const Measured& angle_rad,
                    const std::string& prefix) {
  const auto into = [&](double across_mm) { return into_facet(across_mm, angle_rad); };
  if (amount.least_mm) draft.with(prefix + "into_least_mm", into(*amount.least_mm));
  if (amount.most_mm) {
    draft.with(prefix + "into_most_mm", into(*amount.most_mm));
  } else {
    draft.with(prefix + "into_by_mm", into(amount.mean_mm.value));
  }
}

}  // namespace evenbevel
