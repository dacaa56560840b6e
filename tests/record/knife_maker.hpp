#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenbevel/record.hpp"
#include "scratch_folder.hpp"

namespace evenbevel::test {

/// A number as a report states it.
struct StatedValue {
  double value = 0.0, u = 0.0, U95 = 0.0;
};

/// An edge report as the program writes it, as far as a record reads it.
struct EdgeReport {
  std::string photo = "blade.jpg";
  std::string photo_sha256 = {};  ///< Empty: not in the report.
  std::string stage = "ground";
  StatedValue offset = {0.012, 0.005, 0.010};
  StatedValue width = {0.262, 0.016, 0.032};  ///< Of the land, or of the gap between the lines.
  double first_x_mm = 0.0;
  int stations = 50;  ///< Every mm; the offset and the width at each.
  bool x_from_plunge = true;
  double thickness_mm = 3.3, thickness_u_mm = 0.005;
};
std::string json_of(const EdgeReport& report);

/// A knife's photos and reports in a folder of their own, and a record.
class Shop {
 public:
  /// A photo (any bytes; a record does not look into them).
  std::filesystem::path photo(const std::string& name, const std::string& bytes) const;
  /// A report on that photo, with its hash.
  std::string report(const std::string& photo, EdgeReport report = {}) const;
  /// The photo "NAME.jpg" and its report, ready to be added.
  NewEntry entry(const std::string& knife, const std::string& stage, const std::string& name,
                 EdgeReport report = {}) const;

  std::filesystem::path file() const { return folder_ / "shop" / "record.sqlite"; }
  std::filesystem::path photos_folder() const { return folder_ / "photos"; }
  std::filesystem::path operator/(const std::string& name) const { return folder_ / name; }
  Record record() const { return Record::open_or_make(file()); }

 private:
  /// In memory where that is to be had: a record waits for the disk at every step.
  static std::filesystem::path fast_folder();

  ScratchFolder folder_{fast_folder()};
};

inline constexpr const char* kWhen = "2026-03-14T09:26:53Z";

}  // namespace evenbevel::test
