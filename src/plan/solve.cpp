#include <algorithm>
#include <cmath>
#include <set>

#include "evenbevel/error.hpp"
#include "plan/quantities.hpp"
#include "plan/relations.hpp"

namespace evenbevel {
namespace {

using Q = PlanQuantity;

constexpr double kAgree_mm = 0.01;            // what calipers resolve
constexpr double kAgree_rad = radians(0.01);  // finer than any angle gauge
constexpr double kRounding = 1e-9;

bool known(const PlanValues& values, Q quantity) { return values.contains(quantity); }

PlanNumbers numbers_of(const PlanValues& values) {
  PlanNumbers numbers;
  for (const auto& [quantity, known_value] : values) numbers[quantity] = known_value.value;
  return numbers;
}

/// The given quantities behind all of these.
std::vector<Q> sources(const PlanValues& values, const std::vector<Q>& of, Q except) {
  std::set<Q> all;
  for (const Q quantity : of) {
    if (quantity == except) continue;
    const std::vector<Q>& from = values.at(quantity).from;
    all.insert(from.begin(), from.end());
  }
  return {all.begin(), all.end()};
}

/// "stock 4.000 mm, land 0.400 mm and bevel height 20.000 mm"
InUnits with_values(const PlanValues& values, const std::vector<Q>& quantities) {
  return in_units([&](LengthUnit unit) {
    std::vector<std::string> words;
    words.reserve(quantities.size());
    for (const Q quantity : quantities) {
      words.push_back(with_value(quantity, values.at(quantity).value, unit));
    }
    return listed(words);
  });
}

std::string make(const std::vector<Q>& subject) { return subject.size() == 1 ? "makes" : "make"; }

// ------------------------------------------------------------------------- less than, at most

struct Order {
  Q smaller, larger;
  bool may_be_equal;
};

constexpr Order kOrders[] = {{Q::land, Q::stock, false},
                             {Q::land, Q::tip_thickness, false},
                             {Q::tip_thickness, Q::stock, true},
                             {Q::drill, Q::stock, true},
                             {Q::bevel_height, Q::blade_height, true},
                             {Q::flat_height, Q::blade_height, false},
                             {Q::bevel_height, Q::bevel_face, false},
                             {Q::scribe_height, Q::bevel_face, false},
                             {Q::bevel_angle, Q::sharpening_angle, false},
                             {Q::sharpened_height, Q::bevel_height, true},
                             {Q::shim, Q::rest_length, false}};

/// Where the value comes from, unless it was given.
InUnits behind(const PlanValues& values, Q quantity) {
  const PlanValue& known_value = values.at(quantity);
  if (known_value.given) return "";
  return " (from " + with_values(values, known_value.from) + ")";
}

void require_orders(const PlanValues& values) {
  for (const Order& order : kOrders) {
    if (!known(values, order.smaller) || !known(values, order.larger)) continue;
    const double smaller = values.at(order.smaller).value, larger = values.at(order.larger).value;
    const double slack = order.may_be_equal ? kRounding : -kRounding;
    if (smaller <= larger + slack) continue;
    throw Error("the " + with_value(order.smaller, smaller) + behind(values, order.smaller) +
                    (order.may_be_equal ? " is more than the " : " is not less than the ") +
                    with_value(order.larger, larger) + behind(values, order.larger),
                "check both values and their units");
  }
}

// ------------------------------------------------------------------------------- propagating

void require_range(Q quantity, double value) {
  if (in_range(quantity, value)) return;
  throw Error("the " + with_value(quantity, value) + " cannot be",
              is_angle(quantity) ? "give an angle above 0 and below 90 deg, included below 180 deg"
                                 : "give a length above zero");
}

bool all_known_but(const PlanValues& values, const std::vector<Q>& quantities, Q unknown) {
  return std::all_of(quantities.begin(), quantities.end(),
                     [&](Q quantity) { return quantity == unknown || known(values, quantity); });
}

/// A blade sharpened from no land at all leaves several equations without an answer: 0 / 0.
bool any_zero(const PlanNumbers& numbers, const std::vector<Q>& quantities, Q except) {
  return std::any_of(quantities.begin(), quantities.end(),
                     [&](Q quantity) { return quantity != except && numbers[quantity] == 0.0; });
}

[[noreturn]] void refuse(const PlanValues& values, const std::vector<Q>& from, Q unknown,
                         double value) {
  require_orders(values);
  const InUnits cannot =
      std::isfinite(value)
          ? " " + make(from) + " the " + with_value(unknown, value) + ", which cannot be"
          : InUnits(" leave no " + std::string(label(unknown)) + " that would do");
  throw Error(with_values(values, from) + cannot, "check these values and their units");
}

/// False when that way gives no answer.
bool find(PlanValues& values, const PlanRelation& relation, const PlanRelation::Way& way) {
  const PlanNumbers numbers = numbers_of(values);
  double value = way.value(numbers);
  if (may_be_zero(way.unknown) && std::abs(value) < kRounding) value = 0.0;
  if (!std::isfinite(value) && any_zero(numbers, relation.quantities, way.unknown)) return false;
  const std::vector<Q> from = sources(values, relation.quantities, way.unknown);
  if (!in_range(way.unknown, value)) refuse(values, from, way.unknown, value);
  values[way.unknown] = {value, false, from};
  return true;
}

bool find_more(PlanValues& values) {
  bool found = false;
  for (const PlanRelation& relation : plan_relations()) {
    for (const PlanRelation::Way& way : relation.ways) {
      if (known(values, way.unknown)) continue;
      if (!all_known_but(values, relation.quantities, way.unknown)) continue;
      found = find(values, relation, way) || found;
    }
  }
  return found;
}

// ---------------------------------------------------------------------------------- agreeing

bool agree(Q quantity, double a, double b) {
  return std::abs(a - b) <= (is_angle(quantity) ? kAgree_rad : kAgree_mm);
}

[[noreturn]] void refuse_conflict(const PlanValues& values, const PlanRelation& relation,
                                  const PlanRelation::Way& way, double other) {
  const PlanValue& value = values.at(way.unknown);
  std::vector<Q> from = sources(values, relation.quantities, way.unknown);
  if (value.given) std::erase(from, way.unknown);
  const InUnits first = value.given ? "the " + with_value(way.unknown, value.value) + " was given"
                                    : with_values(values, value.from) + " " + make(value.from) +
                                          " the " + with_value(way.unknown, value.value);
  const InUnits second =
      with_values(values, from) + " " + make(from) + " it " + in_units([&](LengthUnit unit) {
        return is_angle(way.unknown) ? format_angle(other) : format_length(other, unit);
      });
  throw Error(first + ", but " + second, "leave one of these out, or correct it");
}

/// An equation holds when a small change of one of its values would make it exact.
void require_agreement(const PlanValues& values, const PlanRelation& relation) {
  const bool complete = std::all_of(relation.quantities.begin(), relation.quantities.end(),
                                    [&values](Q quantity) { return known(values, quantity); });
  if (!complete) return;
  const PlanNumbers numbers = numbers_of(values);
  const PlanRelation::Way* named = nullptr;
  for (const PlanRelation::Way& way : relation.ways) {
    const double other = way.value(numbers);
    if (!std::isfinite(other)) continue;
    if (agree(way.unknown, other, numbers[way.unknown])) return;
    const bool better =
        named == nullptr || (!values.at(named->unknown).given && values.at(way.unknown).given);
    if (better) named = &way;
  }
  if (named != nullptr) refuse_conflict(values, relation, *named, named->value(numbers));
}

}  // namespace

PlanValues solve_plan(const std::map<PlanQuantity, double>& given) {
  PlanValues values;
  for (const auto& [quantity, value] : given) {
    require_range(quantity, value);
    values[quantity] = {value, true, {quantity}};
  }
  require_orders(values);
  while (find_more(values)) {
  }
  for (const PlanRelation& relation : plan_relations()) require_agreement(values, relation);
  require_orders(values);
  return values;
}

}  // namespace evenbevel
