#include "evenbevel/card.hpp"

#include <filesystem>
#include <iostream>
#include <map>
#include <memory>
#include <set>
#include <string>

#include "commands.hpp"
#include "evenbevel/practice_strip.hpp"
#include "shop.hpp"

namespace evenbevel::cli {
namespace {

struct CardOptions {
  std::string kind;
  std::filesystem::path output;
  std::string sheet;
  std::string format;
};

template <class Value>
using Names = std::map<std::string, Value>;

const Names<CardKind> kKinds{{"edge", CardKind::edge},
                             {"side", CardKind::side},
                             {"heel", CardKind::heel},
                             {"lens", CardKind::lens}};
constexpr const char* kPractice = "practice";  ///< The edge card, a strip with known numbers in it.
const Names<Sheet> kSheets{{"a4", Sheet::a4}, {"letter", Sheet::letter}};
const Names<CardFormat> kFormats{
    {"pdf", CardFormat::pdf}, {"svg", CardFormat::svg}, {"png", CardFormat::png}};

template <class Value>
std::set<std::string> keys(const Names<Value>& names) {
  std::set<std::string> out;
  for (const auto& [key, value] : names) out.insert(key);
  return out;
}

std::string name_of(Sheet sheet) { return sheet == Sheet::letter ? "letter" : "a4"; }
std::set<std::string> kinds() {
  std::set<std::string> all = keys(kKinds);
  all.insert(kPractice);
  return all;
}

// The format by name: said, or the file's ending, or PDF.
std::string format_of(const CardOptions& options) {
  if (!options.format.empty()) return options.format;
  if (options.output.empty()) return "pdf";
  const std::string ending = CLI::detail::to_lower(options.output.extension().string());
  if (ending.size() > 1 && kFormats.count(ending.substr(1)) > 0) return ending.substr(1);
  throw CLI::ValidationError(
      "-o", options.output.string() + " does not end in .pdf, .svg or .png; say --format");
}

int run_card(const CardOptions& options) {
  const std::string format = format_of(options);
  std::filesystem::path output = options.output;
  const Sheet sheet = paper_or_shops(options.sheet);
  if (output.empty()) output = options.kind + "-card-" + name_of(sheet) + "." + format;
  const bool practice = options.kind == kPractice;
  const CardKind kind = practice ? CardKind::edge : kKinds.at(options.kind);
  if (practice) {
    draw_practice_card(sheet, kFormats.at(format), output);
  } else {
    draw_card(kind, sheet, kFormats.at(format), output);
  }
  std::cout << output.string() << '\n';
  std::cerr << "Print it at 100 % (actual size, never fit to page), then check the "
            << card_page(kind, sheet).bar_length_mm << " mm bar with calipers.\n";
  return 0;
}

}  // namespace

void add_card(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<CardOptions>();
  CLI::App* card = app.add_subcommand("card", "Draw a card to print, to exact size");
  card->add_option(
          "kind", options->kind,
          "practice: a drawn blade with known numbers, to try printer, phone and light on; "
          "edge: blade edge-up in its slot; side: blade lies on it; heel: stands over the "
          "blade; lens: to calibrate a camera")
      ->required()
      ->type_name("practice|edge|side|heel|lens")
      ->transform(CLI::IsMember(kinds(), CLI::ignore_case).description(""));
  card->add_option("-o,--output", options->output,
                   "File to write; its ending says the format [KIND-card-SHEET.pdf]")
      ->type_name("FILE");
  card->add_option("--sheet", options->sheet, "Paper, landscape [a4, or as shop.toml says]")
      ->type_name("a4|letter")
      ->transform(CLI::IsMember(keys(kSheets), CLI::ignore_case).description(""));
  card->add_option("--format", options->format, "When the file's ending does not say it")
      ->type_name("pdf|svg|png")
      ->transform(CLI::IsMember(keys(kFormats), CLI::ignore_case).description(""));
  card->footer(
      "Examples:\n  evenbevel card edge -o edge.pdf --sheet letter\n  evenbevel card lens -o "
      "lens.svg\n\n" +
      help_cautions());
  card->callback([options, &exit_code] { exit_code = run_card(*options); });
}

}  // namespace evenbevel::cli
