#include "edge_run.hpp"

#include <cmath>
#include <fstream>
#include <optional>
#include <vector>

#include <Eigen/Core>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "evenbevel/photo.hpp"
#include "sources.hpp"

namespace evenbevel::test {
namespace {

namespace fs = std::filesystem;

nlohmann::json json_in(const fs::path& path) {
  std::ifstream file(path);
  return nlohmann::json::parse(file);
}

Eigen::Vector2d px_of(const nlohmann::json& station) {
  return {station.at("px").at(0).get<double>(), station.at("px").at(1).get<double>()};
}

struct TrueStation {
  Eigen::Vector2d px;
  double offset_mm;
};

std::vector<TrueStation> true_stations(const fs::path& path) {
  std::vector<TrueStation> stations;
  const nlohmann::json truth = json_in(path);
  for (const nlohmann::json& station : truth.at("stations")) {
    const auto offset = station.find("centreline_offset_mm");
    if (offset == station.end() || offset->is_null()) continue;
    if (!station.contains("px") || station["px"].is_null()) continue;
    stations.push_back({px_of(station), offset->get<double>()});
  }
  return stations;
}

/// Between the two true stations beside it; empty beyond the last.
std::optional<double> true_offset_mm(const std::vector<TrueStation>& truth,
                                     const Eigen::Vector2d& q_px) {
  for (std::size_t i = 0; i + 1 < truth.size(); ++i) {
    const Eigen::Vector2d step = truth[i + 1].px - truth[i].px;
    const double share = (q_px - truth[i].px).dot(step) / step.squaredNorm();
    if (share < 0.0 || share > 1.0) continue;
    return truth[i].offset_mm + share * (truth[i + 1].offset_mm - truth[i].offset_mm);
  }
  return std::nullopt;
}

}  // namespace

const cv::Mat& usb_photo() {
  static const cv::Mat pixels = read_photo(kSource + "/sample-images/edge-usb.jpg").pixels;
  return pixels;
}

std::string usb_arguments() {
  return " --thickness 3mm --tip right --camera-file " + kSource + "/calibration/sample-usb.yml";
}

Held held(const fs::path& report_json, const fs::path& truth_json) {
  const std::vector<TrueStation> truth = true_stations(truth_json);
  Held result;
  const nlohmann::json report = json_in(report_json);
  for (const nlohmann::json& station : report.at("stations")) {
    const auto offset = station.find("centreline_offset");
    if (offset == station.end()) continue;
    const std::optional<double> expected_mm = true_offset_mm(truth, px_of(station));
    if (!expected_mm) continue;
    const double error_mm = offset->at("value").get<double>() - *expected_mm;
    if (std::abs(error_mm) <= offset->at("U95").get<double>()) result.share += 1.0;
    ++result.stations;
  }
  if (result.stations > 0) result.share /= result.stations;
  return result;
}

std::string warnings_of(const fs::path& report_json) {
  std::string text;
  const nlohmann::json report = json_in(report_json);
  for (const nlohmann::json& warning : report.at("warnings")) {
    text += warning.at("text").get<std::string>() + '\n';
  }
  return text;
}

}  // namespace evenbevel::test
