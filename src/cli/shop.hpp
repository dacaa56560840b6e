#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "evenbevel/card.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel::cli {

/// What shop.toml says, as an option would say it; empty where it says nothing. Lengths bring their
/// unit.
struct Shop {
  std::string units, paper;
  std::string tolerance, side_tolerance, choil_tolerance;  ///< Each view's, as its --tolerance.
  std::string land;                                        ///< The width that is ground toward.
  std::map<CardKind, std::vector<std::string>> printed_bar;

  const std::vector<std::string>& bar_of(CardKind card) const;
};

/// Empty: there is no home folder.
std::optional<std::filesystem::path> shop_file();

/// Nothing is said where there is no such file.
/// @throws CLI::ValidationError  Names the file, the key and what is allowed.
Shop read_shop();

/// Says a card's printed bar in shop.toml, one reading or two with their unit; what else stands
/// there stays.
/// @throws Error  The file cannot be written.
void remember_bar(const std::filesystem::path& file, CardKind card,
                  const std::vector<std::string>& bar);

/// Says a length in shop.toml under one of its keys, or takes it back; what else stands there
/// stays.
/// @param length  With its unit; empty: nothing is said any more.
/// @throws Error  The file cannot be written.
void remember_length(const std::filesystem::path& file, const std::string& key,
                     const std::string& length);

/// Of "mm", "in", "thou"; mm where it is empty.
LengthUnit length_unit(const std::string& name);

/// As typed, else as shop.toml says, else mm.
LengthUnit unit_or_shops(const std::string& typed);

/// The same of the paper, else Letter for who works in inches, A4 for who works in mm.
Sheet paper_or_shops(const std::string& typed, LengthUnit unit = LengthUnit::mm);

}  // namespace evenbevel::cli
