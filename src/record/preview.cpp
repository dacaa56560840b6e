#include "record/preview.hpp"

#include <algorithm>
#include <cmath>
#include <system_error>

#include <Eigen/Core>
#include <Eigen/QR>
#include <nlohmann/json.hpp>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/photo.hpp"
#include "record/files.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;

constexpr double kPxPerMm = 10.0;  // Along the blade.
constexpr double kHalfMm = 5.0;    // Shown to each side of the edge.
constexpr int kLongestPx = 1200;   // Of a whole photo.
constexpr int kQuality = 82;

/// Where a place on the blade is in the photo: start + along * x + across * t, t in the picture's
/// sense below the edge.
struct BladeLine {
  Eigen::Vector2d start_px, along_px_per_mm;
  double from_mm = 0.0, to_mm = 0.0;

  Eigen::Vector2d across() const { return {-along_px_per_mm.y(), along_px_per_mm.x()}; }
};

struct Place {
  double x_mm;
  Eigen::Vector2d px;
};

std::vector<Place> places_of(const Json& report) {
  std::vector<Place> places;
  const auto stations = report.find("stations");
  if (stations == report.end() || !stations->is_array()) return places;
  for (const Json& station : *stations) {
    const auto x = station.find("x");
    const auto px = station.find("px");
    if (x == station.end() || !x->is_number() || px == station.end()) continue;
    if (!px->is_array() || px->size() != 2 || !(*px)[0].is_number() || !(*px)[1].is_number())
      continue;
    places.push_back({x->get<double>(), {(*px)[0].get<double>(), (*px)[1].get<double>()}});
  }
  return places;
}

/// Least squares over the stations.
std::optional<BladeLine> blade_line(const Json& report) {
  const std::vector<Place> places = places_of(report);
  if (places.size() < 3) return std::nullopt;
  Eigen::MatrixX2d A(places.size(), 2);
  Eigen::MatrixX2d b(places.size(), 2);
  for (Eigen::Index i = 0; i < A.rows(); ++i) {
    A.row(i) << 1.0, places[static_cast<std::size_t>(i)].x_mm;
    b.row(i) = places[static_cast<std::size_t>(i)].px.transpose();
  }
  const Eigen::Matrix2d solution = A.colPivHouseholderQr().solve(b);
  const BladeLine line{solution.row(0).transpose(), solution.row(1).transpose(),
                       std::floor(places.front().x_mm), std::ceil(places.back().x_mm)};
  constexpr double kLongestMm = 600.0;
  const double length = line.to_mm - line.from_mm;
  if (!(length >= 1.0) || length > kLongestMm || !(line.along_px_per_mm.norm() > 0.5)) {
    return std::nullopt;
  }
  return line;
}

cv::Mat eight_bit(const cv::Mat& pixels) {
  cv::Mat out = pixels;
  if (pixels.depth() == CV_16U) pixels.convertTo(out, CV_8U, 1.0 / 257.0);
  return out;
}

cv::Mat straightened(const cv::Mat& pixels, const BladeLine& line) {
  const cv::Size size(static_cast<int>(std::lround((line.to_mm - line.from_mm) * kPxPerMm)),
                      static_cast<int>(std::lround(2.0 * kHalfMm * kPxPerMm * kAcross)));
  const Eigen::Vector2d du = line.along_px_per_mm / kPxPerMm;
  const Eigen::Vector2d dv = line.across() / (kPxPerMm * kAcross);
  const Eigen::Vector2d origin =
      line.start_px + line.from_mm * line.along_px_per_mm - 0.5 * (size.height - 1) * dv;
  const cv::Matx23d to_photo(du.x(), dv.x(), origin.x(), du.y(), dv.y(), origin.y());
  cv::Mat out;
  cv::warpAffine(pixels, out, to_photo, size, cv::INTER_LINEAR | cv::WARP_INVERSE_MAP);
  return out;
}

cv::Mat shrunken(const cv::Mat& pixels) {
  const double scale = static_cast<double>(kLongestPx) / std::max(pixels.cols, pixels.rows);
  if (scale >= 1.0) return pixels;
  cv::Mat out;
  cv::resize(pixels, out, {}, scale, scale, cv::INTER_AREA);
  return out;
}

cv::Mat picture_of(const Photo& photo, const std::optional<BladeLine>& line) {
  const cv::Mat pixels = eight_bit(photo.pixels);
  return line ? straightened(pixels, *line) : shrunken(upright(pixels, photo.orientation));
}

/// Width by height, from a JPEG's frame header (ITU-T T.81, B.2.2); 0: not found.
double ratio_of(const std::string& jpeg) {
  const auto byte = [&](std::size_t at) { return static_cast<unsigned char>(jpeg[at]); };
  const auto word = [&](std::size_t at) { return byte(at) * 256.0 + byte(at + 1); };
  std::size_t at = 2;
  while (at + 9 < jpeg.size() && byte(at) == 0xFF) {
    const unsigned marker = byte(at + 1);
    if (marker >= 0xC0 && marker <= 0xC2) return word(at + 5) > 0 ? word(at + 7) / word(at + 5) : 0;
    at += 2 + static_cast<std::size_t>(word(at + 2));
  }
  return 0.0;
}

std::string make_jpeg(const fs::path& photo, const std::optional<BladeLine>& line) {
  const std::vector<uchar> jpeg = encode_jpeg(picture_of(read_photo(photo), line), kQuality);
  return {jpeg.begin(), jpeg.end()};
}

}  // namespace

std::optional<Preview> preview(Record& record, const RecordEntry& entry, std::size_t photo) {
  const Json report = Json::parse(record.report_json(entry), nullptr, false);
  std::optional<BladeLine> line;
  if (entry.view == "edge" && report.is_object()) line = blade_line(report);
  const fs::path file = record_photos(record.file()) / "previews" /
                        (entry.report + "-" + std::to_string(photo) + ".jpg");
  Preview result;
  std::error_code ignored;
  if (fs::exists(file, ignored)) result.jpeg = read_whole(file);
  result.ratio = ratio_of(result.jpeg);
  if (result.ratio <= 0.0) {
    try {
      result.jpeg = make_jpeg(record.photo_path(entry.photos.at(photo)), line);
      make_folder(file.parent_path());
      write_replacing(file, result.jpeg);
    } catch (const Error&) {
      if (result.jpeg.empty()) return std::nullopt;
    }
    result.ratio = ratio_of(result.jpeg);
  }
  if (result.ratio <= 0.0) return std::nullopt;
  if (line) {
    result.along_blade = true;
    result.from_mm = line->from_mm;
    result.to_mm = line->to_mm;
  }
  return result;
}

}  // namespace evenbevel
