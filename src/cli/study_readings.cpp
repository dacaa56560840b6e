#include "study_readings.hpp"

#include <algorithm>
#include <fstream>
#include <iterator>
#include <set>

#include "edge_options.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/gauge_view.hpp"
#include "evenbevel/live.hpp"
#include "evenbevel/study_input.hpp"
#include "print_scale.hpp"
#include "progress.hpp"
#include "settle.hpp"

namespace evenbevel::cli {
namespace {

namespace fs = std::filesystem;

constexpr const char* kUsualQuantity = "centreline_offset";
constexpr const char* kGaugeQuantity = "thickness";

bool has_ending(const fs::path& path, const std::string& ending) {
  std::string own = path.extension().string();
  std::transform(own.begin(), own.end(), own.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; });
  return own == ending;
}

std::string text_of(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file || fs::is_directory(path)) {
    throw Error(path.string() + " cannot be read", "check the path");
  }
  return {std::istreambuf_iterator<char>(file), {}};
}

ReadingUnit csv_unit(const std::string& units) {
  if (units == "in") return ReadingUnit::inch;
  if (units == "thou") return ReadingUnit::thou;
  if (units == "deg") return ReadingUnit::degree;
  return units == "none" ? ReadingUnit::none : ReadingUnit::mm;
}

StudyReadings from_csv(const std::string& text, const std::string& name,
                       const StudyOptions& options) {
  StudyReadings out;
  out.quantity = !options.quantity.empty() ? options.quantity
                 : options.known.empty()   ? "reading"
                                           : kGaugeQuantity;
  out.kind = options.csv_kind();
  out.readings = readings_from_csv(text, name, csv_unit(options.csv_units));
  for (const StudyReading& reading : out.readings) out.with_u.push_back({reading.value, 0.0});
  return out;
}

/// All photos of a gauge are of that one gauge, whatever their names.
StudyFile file_of(const fs::path& path, bool of_gauge) {
  if (!of_gauge || has_ending(path, ".json")) return file_by_its_name(path);
  return {
      .file = path, .part = "gauge", .person = "", .trial = path.stem().string(), .thickness = ""};
}

/// A folder with a report stands for it; another folder for its photos, or its reports.
std::vector<StudyFile> files_in(const fs::path& input, bool of_gauge) {
  if (!fs::is_directory(input)) return {file_of(input, of_gauge)};
  if (fs::exists(input / "report.json")) return {file_of(input / "report.json", of_gauge)};
  std::vector<fs::path> paths;
  for (const fs::directory_entry& entry : fs::directory_iterator(input)) {
    if (fs::exists(entry.path() / "report.json")) paths.push_back(entry.path() / "report.json");
  }
  std::sort(paths.begin(), paths.end());
  if (paths.empty()) paths = photo_files(input);
  std::vector<StudyFile> files;
  files.reserve(paths.size());
  for (const fs::path& path : paths) files.push_back(file_of(path, of_gauge));
  return files;
}

EdgeSettings edge_settings(const StudyOptions& options, const StudyFile& file) {
  const LengthUnit unit = options.unit();
  const std::string thickness = file.thickness.empty() ? options.thickness : file.thickness;
  if (thickness.empty()) {
    throw CLI::ValidationError("--thickness",
                               "photos need the stock thickness; a list may give it for each one "
                               "in a column 'thickness'");
  }
  EdgeSettings settings;
  settings.thickness_mm = *length_mm("--thickness", thickness, unit);
  settings.edge_height_mm = length_mm("--edge-height", options.edge_height, unit);
  settings.print = print_scale(options.printed_bar, kBar_mm, unit);
  set_stage_and_tip(settings, options.stage, options.tip);
  return settings;
}

bool is_angle(const std::string& quantity) { return quantity.find("angle") != std::string::npos; }

/// Reports of long ago declare no kinds.
ReadingKind reading_kind(QuantityKind kind, const std::string& quantity) {
  if (kind == QuantityKind::angle || is_angle(quantity)) return ReadingKind::angle;
  const bool over_area = kind == QuantityKind::per_area || kind == QuantityKind::length_per_area;
  return over_area ? ReadingKind::number : ReadingKind::length;
}

std::string joined(const std::set<std::string>& names) {
  std::string text;
  for (const std::string& name : names) text += (text.empty() ? "" : ", ") + name;
  return text;
}

/// Goes through the files one by one; one that gives no reading does not end the study.
class Gathering {
 public:
  Gathering(const StudyOptions& options, std::size_t files) : options_(options), all_(files) {
    out_.quantity = !options.quantity.empty() ? options.quantity
                    : options.known.empty()   ? kUsualQuantity
                                              : kGaugeQuantity;
    out_.kind = is_angle(out_.quantity) ? ReadingKind::angle : ReadingKind::length;
  }

  void add(const StudyFile& file) {
    progress_.step(done_++, all_, file.file.string());
    try {
      if (has_ending(file.file, ".json")) {
        add_report(file);
      } else {
        add_photo(file);
      }
    } catch (const Error& error) {
      out_.left_out.push_back({file.file.string(), error.what_is_wrong()});
      do_next_ = error.what_to_do();
      progress_.keep(file.file.string() + ": " + error.what_is_wrong().said(options_.unit()) +
                     "\n  do: " + error.what_to_do().said(options_.unit()));
    }
  }

  StudyReadings done() {
    progress_.clear();
    if (views_.size() > 1) {
      throw Error("the reports are of different views: " + joined(views_),
                  "study one view at a time");
    }
    if (!out_.readings.empty()) return std::move(out_);
    if (!quantities_.empty() && !quantities_.contains(out_.quantity)) {
      throw Error("no report has a quantity '" + out_.quantity + "'",
                  "give --quantity one of " + joined(quantities_));
    }
    if (out_.left_out.size() == 1) {
      throw Error(out_.left_out.front().file + ": " + out_.left_out.front().reason, do_next_);
    }
    throw Error("none of the " + std::to_string(out_.left_out.size()) + " files gave a reading",
                out_.left_out.empty() ? "give photos, reports or a CSV" : do_next_);
  }

 private:
  void keep(const StudyFile& file, const Measured& reading) {
    out_.readings.push_back({file.part, file.person, file.trial, reading.value});
    out_.with_u.push_back(reading);
  }

  void add_report(const StudyFile& file) {
    const StudyReportFile report = read_study_report(file.file, out_.quantity);
    views_.insert(report.view);
    quantities_.insert(report.quantities.begin(), report.quantities.end());
    if (!report.reading) {
      throw Error("the report has no " + out_.quantity,
                  "measure that stage again, or leave it out");
    }
    if (!options_.known.empty() && !report.height_given) {
      throw Error("the report's thickness was the ruler for the edge height, so it says nothing",
                  "measure the gauge with --edge-height");
    }
    out_.kind = reading_kind(report.kind, out_.quantity);
    keep(file, *report.reading);
  }

  void add_gauge(const StudyFile& file) {
    const LengthUnit unit = options_.unit();
    const std::optional<double> top_mm = length_mm("--edge-height", options_.edge_height, unit);
    if (!top_mm) {
      throw CLI::ValidationError("--edge-height",
                                 "a photo of a gauge needs the height of its top above the card");
    }
    if (out_.quantity != kGaugeQuantity) {
      throw CLI::ValidationError("--quantity", "a photo of a gauge gives its thickness");
    }
    const GaugeSettings settings{.width_mm = *length_mm("--known", options_.known, unit),
                                 .height_mm = *top_mm,
                                 .print = print_scale(options_.printed_bar, kBar_mm, unit)};
    Photo photo = read_photo(file.file);
    const CameraModel camera = choose_camera(photo, options_.camera_file).model;
    views_.insert("edge");
    keep(file, gauge_view(photo, camera, settings).width_mm);
  }

  void add_photo(const StudyFile& file) {
    if (!options_.known.empty()) return add_gauge(file);
    const EdgeSettings settings = edge_settings(options_, file);
    Photo photo = read_photo(file.file);
    const CameraModel camera = choose_camera(photo, options_.camera_file).model;
    const EdgeResult result = edge_view(photo, camera, settings);
    views_.insert("edge");
    for (const auto& [name, value] : edge_values(result)) {
      if (value) quantities_.insert(name);
      if (name == out_.quantity && value) return keep(file, *value);
    }
    throw Error("the photo shows no " + out_.quantity,
                "study another --quantity, or leave that photo out");
  }

  const StudyOptions& options_;
  std::size_t done_ = 0, all_ = 0;
  StudyReadings out_;
  std::set<std::string> views_, quantities_;
  InUnits do_next_;
  Progress progress_;
};

}  // namespace

ReadingKind StudyOptions::csv_kind() const {
  if (csv_units == "deg") return ReadingKind::angle;
  return csv_units == "none" ? ReadingKind::number : ReadingKind::length;
}

StudyReadings gather_study(const StudyOptions& options) {
  std::vector<StudyFile> files;
  for (const std::string& input : options.inputs) {
    if (!fs::exists(input)) throw Error(input + ": no such file", "check the path");
    if (!has_ending(input, ".csv")) {
      const std::vector<StudyFile> some = files_in(input, !options.known.empty());
      files.insert(files.end(), some.begin(), some.end());
      continue;
    }
    if (options.inputs.size() > 1) {
      throw CLI::ValidationError("input",
                                 "a CSV stands alone: list all files in it, or put all "
                                 "readings into it");
    }
    const std::string text = text_of(input);
    if (!lists_files(text)) return from_csv(text, input, options);
    files = files_from_csv(text, input);
  }
  if (options.csv_kind() != ReadingKind::length) {
    throw CLI::ValidationError("--units", "deg and none are for a CSV of readings");
  }
  Gathering gathering(options, files.size());
  for (const StudyFile& file : files) gathering.add(file);
  return gathering.done();
}

}  // namespace evenbevel::cli
