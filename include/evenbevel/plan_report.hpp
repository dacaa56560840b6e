#pragma once

#include <filesystem>
#include <string>

#include "evenbevel/card.hpp"
#include "evenbevel/plan.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {

/// For the terminal; no colours, at most 100 columns. Both units, the asked one first.
std::string plan_text(const Plan& plan, LengthUnit unit);

/// Schema evenbevel.plan/1: mm and degrees whatever the display unit.
std::string plan_json(const Plan& plan, const std::string& command_line);

/// One page to hang at the grinder; the PDF's bytes.
std::string plan_card(const Plan& plan, LengthUnit unit, Sheet sheet);

/// Writes plan.json and plan.pdf into the folder (made when missing), to temporary names first.
/// @throws Error  Not writable.
void write_plan(const Plan& plan, LengthUnit unit, Sheet sheet, const std::string& command_line,
                const std::filesystem::path& folder);

}  // namespace evenbevel
