#include "settle.hpp"

#include <iostream>

namespace evenbevel::cli {
namespace {

constexpr const char* kByOption = "option";
constexpr const char* kByKnife = "knife";
constexpr const char* kByShop = "shop.toml";
constexpr const char* kByDefault = "default";

const char* source_of(bool typed, bool of_shop) {
  return typed ? kByOption : of_shop ? kByShop : kByDefault;
}

}  // namespace

void settle_units(CommonOptions& options, const Shop& shop) {
  options.from.add_text("display_unit", source_of(!options.units.empty(), !shop.units.empty()));
  if (options.units.empty()) options.units = shop.units;
}

void settle_printed_bar(CommonOptions& options, const Shop& shop, CardKind card) {
  const std::vector<std::string>& bar = shop.bar_of(card);
  options.from.add_text("printed_bar", source_of(!options.printed_bar.empty(), !bar.empty()));
  if (options.printed_bar.empty()) options.printed_bar = bar;
}

void settle_length(CommonOptions& options, const char* name, std::string& typed,
                   const std::optional<double>& of_knife_mm, const std::string& of_shop) {
  if (!typed.empty()) {
    options.from.add_text(name, kByOption);
  } else if (of_knife_mm) {
    typed = exact_mm(*of_knife_mm);
    options.from.add_text(name, kByKnife);
  } else if (!of_shop.empty()) {
    typed = of_shop;
    options.from.add_text(name, kByShop);
  }
}

std::optional<double> fact_of(const KnifeFacts& facts, KnifeFact fact) {
  const auto found = facts.find(fact);
  return found == facts.end() ? std::nullopt : std::optional(found->second);
}

void settle_edge(EdgeViewOptions& options, const KnifeFacts& knife, const std::string& knife_name) {
  const Shop shop = read_shop();
  settle_length(options, "thickness", options.thickness, fact_of(knife, KnifeFact::thickness));
  settle_length(options, "tolerance", options.tolerance, fact_of(knife, KnifeFact::tolerance),
                shop.tolerance);
  settle_length(options, "land", options.land, fact_of(knife, KnifeFact::land), shop.land);
  settle_units(options, shop);
  if (!options.no_card) settle_printed_bar(options, shop, CardKind::edge);
  if (options.thickness.empty()) ask_for_thickness(options, knife_name);
}

void ask_for_thickness(const CommonOptions& options, const std::string& knife_name) {
  const std::string example = options.unit() == LengthUnit::mm ? "3.2mm" : "0.125in";
  const std::string whose = knife_name.empty() ? "the stock's" : knife_name + "'s";
  const std::string kept = knife_name.empty()
                               ? "; with --knife NAME it is kept, and need not be said again"
                               : "; it is kept with " + knife_name + ", and need not be said again";
  throw CLI::ValidationError("--thickness",
                             "say " + whose + " thickness between the flats, by micrometer" + kept +
                                 "\n  where it is " + example + ", type: " + options.command_line +
                                 " --thickness " + example);
}

void add_typed(KnifeFacts& facts, KnifeFact fact, const CommonOptions& options,
               const std::string& text, const std::string& setting) {
  const std::string of = setting.empty() ? std::string(name(fact)) : setting;
  if (options.from.text(of) != kByOption) return;
  if (const auto mm = length_mm("--" + of, text, options.unit())) facts[fact] = *mm;
}

KnifeFacts typed_facts(const EdgeViewOptions& options) {
  KnifeFacts facts;
  add_typed(facts, KnifeFact::thickness, options, options.thickness);
  add_typed(facts, KnifeFact::land, options, options.land);
  add_typed(facts, KnifeFact::tolerance, options, options.tolerance);
  return facts;
}

ChosenCamera choose_camera(std::span<Photo> photos, const std::string& camera_file,
                           PhotoSource source) {
  ChosenCamera chosen = find_or_guess_camera(photos, camera_file, source);
  for (const std::string& why : chosen.unreadable) {
    std::cerr << "warning: " << why << "; it is left out\n";
  }
  return chosen;
}

ChosenCamera choose_camera(Photo& photo, const std::string& camera_file, PhotoSource source) {
  return choose_camera(std::span(&photo, 1), camera_file, source);
}

}  // namespace evenbevel::cli
