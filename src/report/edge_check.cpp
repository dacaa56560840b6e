#include "report/edge_check.hpp"

#include <vector>

#include "report/edge_quantities.hpp"
#include "report/page.hpp"

namespace evenbevel {
namespace {

const char* name(LawCheck check) {
  switch (check) {
    case LawCheck::agrees:
      return "agrees";
    case LawCheck::differs:
      return "differs";
    case LawCheck::unresolved:
      return "unresolved";
  }
  return "";
}

const char* label_of(const QuantityCheck& check) {
  for (const EdgeQuantity& quantity : edge_quantities()) {
    if (check.quantity == quantity.name) return quantity.label;
  }
  return "";
}

std::string labels(const EdgeResult& result, LawCheck wanted) {
  std::string all;
  for (const QuantityCheck& check : result.monte_carlo) {
    if (check.comparison.check != wanted) continue;
    all += (all.empty() ? "" : "; ") + std::string(label_of(check));
  }
  return all;
}

Json interval_json(const Interval& interval) {
  return {json_mm(interval.low), json_mm(interval.high)};
}

Interval interval_of(const Measured& law) { return {law.value - U95(law), law.value + U95(law)}; }

InUnits interval_words(const Interval& interval) {
  return in_units([&](LengthUnit unit) {
    return format_signed_length(interval.low, unit) + " to " +
           format_signed_length(interval.high, unit);
  });
}

}  // namespace

std::string check_sentence(const EdgeResult& result) {
  if (result.monte_carlo.empty()) return "";
  std::string text = std::to_string(result.monte_carlo.front().monte_carlo.trials) +
                     " Monte Carlo trials against the law of propagation";
  const std::string agrees = labels(result, LawCheck::agrees);
  const std::string differs = labels(result, LawCheck::differs);
  const std::string open = labels(result, LawCheck::unresolved);
  if (!agrees.empty()) text += "; they agree: " + agrees;
  if (!differs.empty()) text += "; they differ: " + differs;
  if (!open.empty()) text += "; too few trials to tell: " + open;
  return text;
}

Json checks_json(const EdgeResult& result) {
  Json json = Json::array();
  for (const QuantityCheck& check : result.monte_carlo) {
    json.push_back({{"quantity", check.quantity},
                    {"trials", check.monte_carlo.trials},
                    {"mean", json_mm(check.monte_carlo.mean)},
                    {"u", json_mm(check.monte_carlo.u)},
                    {"interval", interval_json(check.monte_carlo.symmetric)},
                    {"shortest_interval", interval_json(check.monte_carlo.shortest)},
                    {"law_interval", interval_json(interval_of(check.law))},
                    {"numerical_tolerance", json_mm(check.comparison.tolerance)},
                    {"ends_apart", {json_mm(check.comparison.low), json_mm(check.comparison.high)}},
                    {"law", name(check.comparison.check)}});
  }
  return json;
}

std::string checks_html(const EdgeResult& result) {
  if (result.monte_carlo.empty()) return "";
  std::vector<std::vector<std::string>> rows;
  for (const QuantityCheck& check : result.monte_carlo) {
    rows.push_back({escaped(label_of(check)), escaped(interval_words(interval_of(check.law))),
                    escaped(interval_words(check.monte_carlo.symmetric)),
                    escaped(length_in_units(check.comparison.tolerance)),
                    escaped(std::string(name(check.comparison.check)))});
  }
  return "<p>The 95 percent intervals by the law of propagation and from " +
         std::to_string(result.monte_carlo.front().monte_carlo.trials) +
         " Monte Carlo trials (JCGM 101, clause 8). They agree when both ends lie within the "
         "tolerance, half of the last digit that counts.</p>\n" +
         plain_table({"quantity", "law", "Monte Carlo", "tolerance", "the law"}, rows);
}

}  // namespace evenbevel
