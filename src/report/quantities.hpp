#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "advice/numbers.hpp"
#include "evenbevel/edge_view.hpp"

namespace evenbevel {

enum class QuantityKind { length, signed_length, angle };

/// A quantity of the whole blade: one name for the JSON key, the budget and the page.
struct EdgeQuantity {
  const char* name;
  const char* label;  ///< Plain words.
  std::optional<Measured> EdgeResult::*member;
  QuantityKind kind;
};

/// In the order of the reports.
std::span<const EdgeQuantity> edge_quantities();

/// The same at one station; all of them lengths.
struct StationQuantity {
  const char* name;
  const char* label;
  std::optional<Measured> EdgeStation::*member;
};
std::span<const StationQuantity> station_quantities();

/// The value if it was measured. A value or uncertainty that is not finite counts as not measured.
std::optional<Measured> measured(const std::optional<Measured>& value);

Printed printed(const EdgeQuantity& quantity, const Measured& value, LengthUnit unit);

bool is_angle(std::string_view quantity_name);

/// Share of stations with a centreline offset.
double seen_share(const EdgeResult& result);

/// Whether the station has a quantity, and with it a place in the photo.
bool anything_seen(const EdgeStation& station);

/// "toward the left face"; empty when the interval holds zero.
std::string toward(const Measured& offset_mm);

/// What the stage is called in a sentence.
const char* stage_words(Stage stage);

/// The sentence that every report carries.
const char* left_and_right();

}  // namespace evenbevel
