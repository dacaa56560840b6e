#include "shop.hpp"

#include <algorithm>
#include <fstream>
#include <iterator>
#include <set>
#include <sstream>
#include <system_error>

#include <CLI/CLI.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/folders.hpp"
#include "options.hpp"
#include "print_scale.hpp"

namespace evenbevel::cli {
namespace {

namespace fs = std::filesystem;

constexpr const char* kBars = "printed-bar";
constexpr const char* kAllowed =
    "allowed are units, paper, tolerance, side-tolerance, choil-tolerance and land, and below "
    "[printed-bar] edge, side, heel and lens";

const std::map<std::string, CardKind> kCards = {{"edge", CardKind::edge},
                                                {"side", CardKind::side},
                                                {"heel", CardKind::heel},
                                                {"lens", CardKind::lens}};

/// What CLI11 read of the file, made into settings key by key.
class ShopReading {
 public:
  explicit ShopReading(const fs::path& file) : file_(file.string()) {}

  /// CLI11 passes over lines of one or two letters in silence.
  void require_no_scraps(const std::string& text) const {
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);) {
      CLI::detail::trim(line);
      const bool array_ends = line == "]" || line == "],";
      if (line.empty() || line.size() > 2 || line.front() == '#' || array_ends) continue;
      fail("'" + line + "' is not understood; " + kAllowed);
    }
  }

  Shop shop(const std::vector<CLI::ConfigItem>& items) {
    for (const CLI::ConfigItem& item : items) {
      if (is_section_mark(item)) continue;
      if (!said_.insert(item.fullname()).second) {
        fail("'" + item.fullname() + "' is said twice; keep one of them");
      }
    }
    // The unit first: it says what bare numbers are.
    for (const bool units : {true, false}) {
      for (const CLI::ConfigItem& item : items) {
        const bool is_units = item.fullname() == "units";
        if (!is_section_mark(item) && is_units == units) take(item);
      }
    }
    return shop_;
  }

 private:
  [[noreturn]] void fail(const std::string& why) const { throw CLI::ValidationError(file_, why); }

  static bool is_section_mark(const CLI::ConfigItem& item) {
    return item.name == "++" || item.name == "--";
  }

  void take(const CLI::ConfigItem& item) {
    const std::string key = item.fullname();
    if (item.parents.size() == 1 && item.parents.front() == kBars) return take_bar(item);
    if (key == "units") {
      shop_.units = one_of(item, {"mm", "in", "thou"});
    } else if (key == "paper") {
      shop_.paper = one_of(item, {"a4", "letter"});
    } else if (std::string* length = length_named(key)) {
      *length = length_of(item);
    } else {
      fail("there is no key '" + key + "'; " + kAllowed);
    }
  }

  std::string* length_named(const std::string& key) {
    if (key == "tolerance") return &shop_.tolerance;
    if (key == "side-tolerance") return &shop_.side_tolerance;
    if (key == "choil-tolerance") return &shop_.choil_tolerance;
    return key == "land" ? &shop_.land : nullptr;
  }

  std::string value_of(const CLI::ConfigItem& item) const {
    if (item.inputs.size() == 1) return item.inputs.front();
    fail("'" + item.fullname() + "' has " + std::to_string(item.inputs.size()) +
         " values, one is allowed; a length with a decimal comma stands in quotes");
  }

  std::string one_of(const CLI::ConfigItem& item, const std::vector<std::string>& allowed) const {
    const std::string value = value_of(item);
    if (std::ranges::find(allowed, value) != allowed.end()) return value;
    std::string listed;
    for (const std::string& one : allowed) listed += (listed.empty() ? "\"" : ", \"") + one + "\"";
    fail("'" + item.fullname() + "' is '" + value + "'; allowed are " + listed);
  }

  std::string length_of(const CLI::ConfigItem& item) const {
    const std::string value = value_of(item);
    const std::optional<double> mm = parse_length_mm(value, length_unit(shop_.units));
    if (mm && *mm > 0.0) return exact_mm(*mm);
    fail("'" + item.fullname() + "' is '" + value +
         "'; allowed is a length above zero, such as \"0.05mm\", \"0.012in\" or \"2thou\"");
  }

  void take_bar(const CLI::ConfigItem& item) {
    const auto card = kCards.find(item.name);
    if (card == kCards.end()) {
      fail("there is no card '" + item.name + "' below [printed-bar]; " + kAllowed);
    }
    const std::string key = "'" + item.fullname() + "'";
    if (item.inputs.empty() || item.inputs.size() > 2) {
      fail(key + " has " + std::to_string(item.inputs.size()) +
           " values; allowed are one, or two as [\"199.4mm\", \"199.1mm\"], along the page and "
           "across");
    }
    std::vector<std::string>& bar = shop_.printed_bar[card->second];
    for (const std::string& value : item.inputs) {
      const std::optional<double> mm = parse_length_mm(value, length_unit(shop_.units));
      bar.push_back(mm ? exact_mm(*mm) : value);
    }
    try {
      print_scale(bar, printed_bar_mm(card->second));
    } catch (const CLI::ValidationError& e) {
      const std::string why = e.what();
      fail(key + why.substr(std::min(why.size(), why.find(':'))));
    }
  }

  std::string file_;
  std::set<std::string> said_;
  Shop shop_;
};

std::string shop_text(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

std::string line_of(CardKind card, const std::vector<std::string>& bar) {
  const auto named = std::ranges::find(kCards, card, [](const auto& one) { return one.second; });
  std::string values;
  for (const std::string& value : bar) values += (values.empty() ? "\"" : ", \"") + value + "\"";
  return named->first + " = " + (bar.size() == 1 ? values : "[" + values + "]") + "\n";
}

/// Below the section's head, or with a new one at the end.
std::string with_line(std::string text, const std::string& line) {
  const std::string head = "[" + std::string(kBars) + "]";
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find('\n', begin), text.size());
    if (CLI::detail::trim_copy(text.substr(begin, end - begin)) == head) {
      if (end == text.size()) text += '\n';
      return text.insert(end + 1, line);
    }
    begin = end + 1;
  }
  if (!text.empty()) text += text.ends_with('\n') ? "\n" : "\n\n";
  return text + head + "\n" + line;
}

/// The key of a line above all sections; empty where it has none.
std::string key_of(const std::string& line) {
  const std::size_t equals = line.find('=');
  return equals == std::string::npos ? "" : CLI::detail::trim_copy(line.substr(0, equals));
}

/// The key's line in the place of the one that is there, else above the first section.
std::string with_length(const std::string& text, const std::string& key,
                        const std::string& length) {
  const std::string line = length.empty() ? "" : key + " = \"" + length + "\"\n";
  std::string before, after;
  bool sections = false, said = false;
  std::istringstream lines(text);
  for (std::string one; std::getline(lines, one);) {
    sections = sections || CLI::detail::trim_copy(one).starts_with('[');
    const bool its_own = !sections && key_of(one) == key;
    (sections ? after : before) += its_own ? line : one + "\n";
    said = said || its_own;
  }
  if (said || line.empty()) return before + after;
  const std::size_t end = before.find_last_not_of('\n');
  const std::size_t place = end == std::string::npos ? 0 : end + 2;
  return before.insert(place, line) + after;
}

void write_shop(const fs::path& file, const std::string& text) {
  std::error_code failure;
  fs::create_directories(file.parent_path(), failure);
  fs::path temporary = file;
  temporary += ".new";
  std::ofstream out(temporary, std::ios::binary | std::ios::trunc);
  out << text;
  out.close();
  if (out) fs::rename(temporary, file, failure);
  if (!out || failure) {
    fs::remove(temporary, failure);
    throw Error(file.string() + " cannot be written", "check your rights there");
  }
}

}  // namespace

const std::vector<std::string>& Shop::bar_of(CardKind card) const {
  static const std::vector<std::string> none;
  const auto found = printed_bar.find(card);
  return found == printed_bar.end() ? none : found->second;
}

std::optional<fs::path> shop_file() {
  const std::optional<fs::path> folder = config_folder();
  if (!folder) return std::nullopt;
  return *folder / "shop.toml";
}

Shop read_shop() {
  const std::optional<fs::path> file = shop_file();
  std::error_code failure;
  if (!file || !fs::exists(*file, failure)) return {};
  try {
    if (fs::is_directory(*file)) throw CLI::FileError::Missing(file->string());
    ShopReading reading(*file);
    reading.require_no_scraps(shop_text(*file));
    return reading.shop(CLI::ConfigTOML().from_file(file->string()));
  } catch (const CLI::FileError&) {
    throw CLI::ValidationError(file->string(), "cannot be read; check your rights there");
  }
}

void remember_bar(const fs::path& file, CardKind card, const std::vector<std::string>& bar) {
  write_shop(file, with_line(shop_text(file), line_of(card, bar)));
}

void remember_length(const fs::path& file, const std::string& key, const std::string& length) {
  write_shop(file, with_length(shop_text(file), key, length));
}

LengthUnit length_unit(const std::string& name) {
  if (name == "thou") return LengthUnit::thou;
  return name == "in" ? LengthUnit::inch : LengthUnit::mm;
}

LengthUnit unit_or_shops(const std::string& typed) {
  return length_unit(typed.empty() ? read_shop().units : typed);
}

Sheet paper_or_shops(const std::string& typed, LengthUnit unit) {
  const std::string paper = typed.empty() ? read_shop().paper : typed;
  if (paper.empty()) return unit == LengthUnit::mm ? Sheet::a4 : Sheet::letter;
  return paper == "letter" ? Sheet::letter : Sheet::a4;
}

}  // namespace evenbevel::cli
