#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "evenbevel/camera.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/photo.hpp"
#include "evenbevel/report.hpp"
#include "report/quantities.hpp"
#include "statement/json.hpp"

namespace evenbevel {

// The parts of report.json that all views share: mm, degrees, px. What was not measured has no
// key, rather than null or zero.

void put(Json& json, const char* key, const std::optional<double>& value, int decimals = 5);
void put(Json& json, const char* key, const std::string& value);
void put(Json& json, const char* key, const std::optional<Eigen::Vector2d>& px);
void put(Json& json, const char* key, const std::optional<Measured>& value, bool angle);

Json measured_json(const Measured& value, bool angle);
inline Json measured_json(const Quantity& quantity) {
  return measured_json(quantity.value, quantity.what.kind == QuantityKind::angle);
}

/// Schema, program, view and units: the head of every report.
Json report_json(const char* view, const ReportSettings& settings);

Json quantities_json(std::span<const Quantity> quantities);

/// @param names  Tell which quantities are angles.
Json budget_json(std::span<const QuantityBudgetLine> budget, std::span<const QuantityName> names);

Json input_json(const Photo& photo);
Json camera_json(const CameraModel& camera);
Json card_json(CardKind kind, const CardPose& pose, int corners_found, const PrintScale& print);

/// Adds what all views' settings end with.
void put_display(Json& json, const ReportSettings& settings);

/// The measurement's warnings, then those of the photos, each once.
std::vector<std::string> all_warnings(const std::vector<std::string>& measurement,
                                      std::span<const Photo* const> photos);

}  // namespace evenbevel
