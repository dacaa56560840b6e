#include "report/setting_words.hpp"

#include <algorithm>
#include <array>
#include <filesystem>
#include <string>
#include <string_view>
#include <variant>

#include "evenbevel/printed.hpp"

namespace evenbevel {
namespace {

/// What a setting is called, for those that are called otherwise than in report.json.
std::string setting_label(std::string_view name) {
  if (name == "display_unit") return "units";
  std::string label(name);
  std::ranges::replace(label, '_', ' ');
  return label;
}

/// A bar that nobody measured has no default: the print is taken to be true.
std::string source_words(std::string_view setting, const std::string& source) {
  if (setting == "printed_bar" && source == "default") return "assumed";
  return source == "exif" ? "found by EXIF" : source;
}

/// The file's name, which is enough for a person; report.json has the path.
std::string camera_name(const Provenance& from, std::string_view setting) {
  const std::string_view face = setting.substr(std::min(setting.size(), sizeof("camera")));
  const Facts& camera = face.empty() ? from.camera : from.camera.part(face);
  std::string file = camera.text("file");
  if (file.empty()) file = from.camera.part("left").text("file");
  if (file.empty()) file = from.camera.part("right").text("file");
  return file.empty() ? "guessed" : std::filesystem::path(file).filename().string();
}

/// Empty: its name says enough.
std::string value_words(const Provenance& from, std::string_view setting, LengthUnit unit) {
  if (setting.starts_with("camera")) return camera_name(from, setting);
  if (setting == "display_unit") return from.settings.text(setting);
  const std::optional<double> mm = from.settings.number(setting);
  return mm ? trimmed_length(*mm, unit) : "";
}

std::string setting_words(std::string_view setting, const std::string& value,
                          const std::string& source) {
  return setting_label(setting) + (value.empty() ? "" : " ") + value + " (" +
         source_words(setting, source) + ")";
}

}  // namespace

InUnits settings_words(const Statement& statement) {
  const Provenance& from = statement.provenance;
  return in_units([&](LengthUnit unit) {
    std::string all;
    for (const auto& [setting, source] : from.settings.part("from")) {
      const auto* words = std::get_if<std::string>(&source);
      if (words == nullptr) continue;
      all += (all.empty() ? "" : ", ") +
             setting_words(setting, value_words(from, setting, unit), *words);
    }
    return all;
  });
}

std::string settings_words(const Facts& from) {
  std::string all;
  for (const auto& [setting, source] : from) {
    if (const auto* words = std::get_if<std::string>(&source))
      all += (all.empty() ? "" : ", ") + setting_words(setting, "", *words);
  }
  return all;
}

}  // namespace evenbevel
