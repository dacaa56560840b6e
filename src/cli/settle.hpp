#pragma once

#include <span>
#include <string>

#include "edge_options.hpp"
#include "evenbevel/measure.hpp"
#include "evenbevel/record.hpp"
#include "options.hpp"
#include "shop.hpp"

namespace evenbevel::cli {

// What was not typed is taken from the knife, else from shop.toml, else it is the default; where
// each setting came from goes into the options' `from`.

void settle_units(CommonOptions& options, const Shop& shop);
void settle_printed_bar(CommonOptions& options, const Shop& shop, CardKind card);

/// A length that the knife or the shop may say. @param name  As report.json has it.
void settle_length(CommonOptions& options, const char* name, std::string& typed,
                   const std::optional<double>& of_knife_mm, const std::string& of_shop = "");

std::optional<double> fact_of(const KnifeFacts& facts, KnifeFact fact);

/// All of them of the edge view.
/// @throws CLI::ValidationError  A bad shop.toml; nobody says the thickness.
void settle_edge(EdgeViewOptions& options, const KnifeFacts& knife, const std::string& knife_name);

/// Nobody says the thickness: what to type, to the letter.
/// @param knife_name  Empty: none was named.
[[noreturn]] void ask_for_thickness(const CommonOptions& options, const std::string& knife_name);

/// The facts of the knife that were typed. @throws CLI::ValidationError  Not lengths above zero.
KnifeFacts typed_facts(const EdgeViewOptions& options);

/// Adds a fact that was typed.
/// @param setting  As report.json has it; empty: as the fact is called.
void add_typed(KnifeFacts& facts, KnifeFact fact, const CommonOptions& options,
               const std::string& text, const std::string& setting = "");

/// As find_or_guess_camera; camera files that cannot be read are told.
ChosenCamera choose_camera(std::span<Photo> photos, const std::string& camera_file,
                           PhotoSource source = PhotoSource::file);
ChosenCamera choose_camera(Photo& photo, const std::string& camera_file,
                           PhotoSource source = PhotoSource::file);

}  // namespace evenbevel::cli
