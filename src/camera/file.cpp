#include <algorithm>
#include <cmath>
#include <exception>
#include <fstream>
#include <sstream>
#include <string_view>

#include <Eigen/Eigenvalues>
#include <opencv2/core.hpp>
#include <opencv2/core/persistence.hpp>

#include "evenbevel/camera.hpp"
#include "evenbevel/error.hpp"

namespace evenbevel {
namespace {

constexpr std::uintmax_t kMostBytes = 16 << 20;

[[noreturn]] void reject(const std::filesystem::path& path, const std::string& reason) {
  throw Error("camera file " + path.string() + ": " + reason,
              "give the file that 'evenbevel calibrate' wrote, or an OpenCV camera file with "
              "camera_matrix, distortion_coefficients, image_width and image_height");
}

std::string read_text(const std::filesystem::path& path) {
  std::error_code failure;
  if (!std::filesystem::exists(path, failure)) reject(path, "there is no such file");
  if (!std::filesystem::is_regular_file(path, failure)) reject(path, "is not a file");
  if (std::filesystem::file_size(path, failure) > kMostBytes) reject(path, "is too large");
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  if (!in) reject(path, "cannot be read");
  return text.str();
}

/// An upper bound of how deep lists and maps lie in each other: OpenCV's parser follows them by
/// recursion, to the end of its stack.
int deepest(std::string_view text) {
  int depth = 0, deepest = 0, dashes = 0, blanks = 0;
  bool at_start = true;  // of a line
  char before = '\0';
  for (const char c : text) {
    if (c == '{' || c == '[' || (before == '<' && c != '/' && c != '?' && c != '!')) ++depth;
    if (c == '}' || c == ']' || (before == '<' && c == '/')) --depth;
    dashes = c == '-' ? dashes + 1 : c == ' ' ? dashes : 0;
    blanks = at_start && c == ' ' ? blanks + 1 : 0;
    at_start = c == '\n' || (at_start && c == ' ');
    before = c;
    deepest = std::max({deepest, depth, dashes - 3, blanks / 2});  // "---" begins a document
  }
  return deepest;
}

/// Whether a line of a YAML file ends its first document: OpenCV 4.6 never comes back from a second
/// one that begins with a dash.
bool ends_document(std::string_view line) {
  const bool dash_and_more = line.size() > 1 && line[0] == '-' && line[1] != ' ' && line[1] != '\t';
  return line.starts_with("...") || dash_and_more;
}

bool several_documents(std::string_view text) {
  bool begun = false;  // by "---", or by what is said in it
  while (!text.empty()) {
    const std::size_t end = std::min(text.find_first_of("\r\n"), text.size());
    const std::string_view line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    const bool begins = !begun && line.starts_with("---");
    if (!begins && ends_document(line)) return true;
    begun = begun || begins || !(line.empty() || line[0] == '%' || line[0] == '#');
  }
  return false;
}

cv::FileStorage parse(const std::filesystem::path& path) {
  constexpr int kDeepest = 40;
  const std::string text = read_text(path);
  // Anything else would be taken for YAML and fail with a message that helps nobody.
  const bool known =
      text.starts_with("%YAML") || text.starts_with("<?xml") || text.starts_with("{");
  if (!known || text.find('\0') != std::string::npos) reject(path, "is not an OpenCV camera file");
  if (deepest(text) > kDeepest) reject(path, "is nested too deep for a camera file");
  if (text.starts_with("%YAML") && several_documents(text)) {
    reject(path, "holds more than one document, or a line of it begins with a dash");
  }
  try {
    cv::FileStorage in(text, cv::FileStorage::READ | cv::FileStorage::MEMORY);
    if (in.root().isMap()) return in;
  } catch (const cv::Exception& failure) {
    reject(path, "cannot be understood (" + failure.err + ")");
  } catch (const std::exception&) {
    // OpenCV 4.6 leaves by std::length_error where a file ends behind a key.
    reject(path, "cannot be understood");
  }
  reject(path, "is not an OpenCV camera file");
}

cv::Mat matrix(const cv::FileStorage& in, const std::string& key,
               const std::filesystem::path& path) {
  const cv::FileNode node = in[key];
  if (node.empty()) reject(path, "has no " + key);
  cv::Mat out;
  try {
    node >> out;
  } catch (const cv::Exception&) {
    out.release();
  }
  if (out.empty() || out.channels() != 1) reject(path, key + " is not a matrix of numbers");
  out.convertTo(out, CV_64F);
  if (!cv::checkRange(out)) reject(path, key + " holds a value that is not finite");
  return out;
}

int whole(const cv::FileStorage& in, const std::string& key, const std::filesystem::path& path) {
  const cv::FileNode node = in[key];
  if (node.empty()) reject(path, "has no " + key);
  if (!node.isInt()) reject(path, key + " is not a whole number");
  return static_cast<int>(node);
}

std::optional<double> number(const cv::FileNode& node) {
  if (node.empty() || !(node.isInt() || node.isReal())) return std::nullopt;
  const auto value = static_cast<double>(node);
  if (!std::isfinite(value)) return std::nullopt;
  return value;
}

std::string words(const cv::FileNode& node) {
  return node.isString() ? static_cast<std::string>(node) : std::string();
}

void read_sensor(const cv::FileStorage& in, const std::filesystem::path& path,
                 CameraModel& camera) {
  const cv::Mat K = matrix(in, "camera_matrix", path);
  if (K.rows != 3 || K.cols != 3) reject(path, "camera_matrix is not 3 x 3");
  camera.width_px = whole(in, "image_width", path);
  camera.height_px = whole(in, "image_height", path);
  camera.focal_px = {K.at<double>(0, 0), K.at<double>(1, 1)};
  camera.centre_px = {K.at<double>(0, 2), K.at<double>(1, 2)};
  const bool central = K.at<double>(1, 0) == 0.0 && K.at<double>(2, 0) == 0.0 &&
                       K.at<double>(2, 1) == 0.0 && K.at<double>(2, 2) == 1.0;
  if (!central) reject(path, "camera_matrix is not that of a pinhole camera");
  // A skew of a thousandth of f is a thousandth of a radian between the sensor's axes.
  if (std::abs(K.at<double>(0, 1)) > 1e-3 * std::abs(camera.focal_px.x()))
    reject(path, "camera_matrix has skew");
}

std::string listed_models() {
  std::string names;
  for (const LensModel* model : lens_models()) {
    names += (names.empty() ? "" : " and ") + std::string(model->name());
  }
  return names;
}

/// OpenCV's calibration program says `fisheye_model` 0 or 1.
const LensModel& named_model(const cv::FileStorage& in, const std::filesystem::path& path) {
  const cv::FileNode ours = in["lens_model"];
  if (ours.empty()) {
    const bool fisheye = number(in["fisheye_model"]).value_or(0.0) != 0.0;
    return fisheye ? *find_lens_model("fisheye") : *lens_models().front();
  }
  const LensModel* const model = find_lens_model(words(ours));
  if (model == nullptr) {
    reject(path, "lens_model '" + words(ours) + "' is not known, only " + listed_models() + " are");
  }
  return *model;
}

std::string coefficient_names(const LensModel& model) {
  std::string names;
  for (const LensCoefficient& coefficient : model.coefficients()) {
    names += (names.empty() ? "" : " ") + std::string(coefficient.name);
  }
  return names;
}

void read_distortion(const cv::FileStorage& in, const std::filesystem::path& path, Lens& lens) {
  const cv::Mat D = matrix(in, "distortion_coefficients", path).reshape(1, 1);
  for (int i = 0; i < D.cols; ++i) {
    const double value = D.at<double>(0, i);
    if (i < lens.size()) {
      lens[i] = value;
    } else if (value != 0.0) {
      reject(path, "distortion_coefficients holds " + std::to_string(D.cols) + " values, only " +
                       coefficient_names(lens.model()) + " are understood");
    }
  }
  const int fewest = lens.model().fewest_in_file();
  if (D.cols < fewest) {
    reject(path, "distortion_coefficients holds fewer than " + std::to_string(fewest) + " values");
  }
}

void check_plausible(const CameraModel& camera, const std::filesystem::path& path) {
  const auto inside = [](double centre, int size) { return centre > 0.0 && centre < size; };
  const double longest = std::max(camera.width_px, camera.height_px);
  if (camera.width_px < 16 || camera.height_px < 16 || longest > 65535) {
    reject(path, "the image size " + std::to_string(camera.width_px) + " x " +
                     std::to_string(camera.height_px) + " is not a camera's");
  }
  for (const double f : camera.focal_px) {
    if (!(f > 0.2 * longest) || !(f < 50.0 * longest)) {
      reject(path, "the focal length " + std::to_string(f) + " px is not a camera's with " +
                       std::to_string(static_cast<int>(longest)) + " px");
    }
  }
  if (camera.focal_px.maxCoeff() > 2.0 * camera.focal_px.minCoeff()) {
    reject(path, "fx and fy differ by more than a factor of 2");
  }
  if (!inside(camera.centre_px.x(), camera.width_px) ||
      !inside(camera.centre_px.y(), camera.height_px)) {
    reject(path, "the principal point lies outside the picture");
  }
}

void read_covariance(const cv::FileStorage& in, const std::filesystem::path& path,
                     CameraModel& camera) {
  if (in["covariance"].empty()) return;
  const cv::Mat C = matrix(in, "covariance", path);
  const int n = parameter_count(camera);
  if (C.rows != n || C.cols != n) {
    reject(path, "covariance is not " + std::to_string(n) + " x " + std::to_string(n));
  }
  LensMatrix covariance(n, n);
  for (int r = 0; r < n; ++r) {
    for (int c = 0; c < n; ++c) covariance(r, c) = C.at<double>(r, c);
  }
  // As correlations, so that px and coefficients compare.
  const LensVector u = covariance.diagonal().cwiseSqrt();
  LensVector inverse_u(n);
  for (int i = 0; i < n; ++i) inverse_u(i) = u(i) > 0.0 ? 1.0 / u(i) : 0.0;
  const LensMatrix correlation = inverse_u.asDiagonal() * covariance * inverse_u.asDiagonal();
  const bool symmetric = (correlation - correlation.transpose()).cwiseAbs().maxCoeff() < 1e-6;
  if (!u.allFinite() || !symmetric ||
      correlation.selfadjointView<Eigen::Lower>().eigenvalues().minCoeff() < -1e-6) {
    reject(path, "covariance is not a covariance (not symmetric, or not positive)");
  }
  camera.covariance = covariance;
}

void read_identity(const cv::FileStorage& in, CameraModel& camera) {
  camera.identity.make = words(in["camera_make"]);
  camera.identity.model = words(in["camera_model"]);
  camera.identity.lens = words(in["lens"]);
  camera.identity.focal_length_mm = number(in["focal_length_mm"]);
  camera.identity.focal_length_35mm = number(in["focal_length_35mm"]);
  camera.identity.digital_zoom = number(in["digital_zoom"]);
}

void read_photos(const cv::FileStorage& in, CameraModel& camera) {
  const cv::FileNode photos = in["photos"];
  if (!photos.isSeq()) return;
  for (const auto& node : photos) {
    if (!node.isMap()) continue;
    camera.photos.push_back({.name = words(node["name"]),
                             .corners = static_cast<int>(number(node["corners"]).value_or(0.0)),
                             .rms_px = number(node["rms_px"]).value_or(0.0)});
  }
}

void put(cv::FileStorage& out, const std::string& key, const std::optional<double>& value) {
  if (value) out << key << *value;
}

void put(cv::FileStorage& out, const std::string& key, const std::string& value) {
  if (!value.empty()) out << key << value;
}

void put_covariance(cv::FileStorage& out, const CameraModel& camera) {
  if (!camera.covariance) return;
  const int n = parameter_count(camera);
  cv::Mat C(n, n, CV_64F);
  std::string names;
  for (int r = 0; r < n; ++r) {
    names += ' ' + parameter_name(camera, r);
    for (int c = 0; c < n; ++c) C.at<double>(r, c) = (*camera.covariance)(r, c);
  }
  out.writeComment("of" + names);
  out << "covariance" << C;
}

void put_photos(cv::FileStorage& out, const CameraModel& camera) {
  if (camera.photos.empty()) return;
  out << "photos"
      << "[";
  for (const CalibrationPhotoResidual& photo : camera.photos) {
    out << "{";
    put(out, "name", photo.name);
    out << "corners" << photo.corners << "rms_px" << photo.rms_px << "}";
  }
  out << "]";
}

std::string as_yaml(const CameraModel& camera) {
  cv::FileStorage out(
      ".yml", cv::FileStorage::WRITE | cv::FileStorage::MEMORY | cv::FileStorage::FORMAT_YAML);
  out.writeComment("Written by evenbevel.");
  out << "image_width" << camera.width_px << "image_height" << camera.height_px;
  const Eigen::Vector2d &f = camera.focal_px, &c = camera.centre_px;
  const cv::Mat K = (cv::Mat_<double>(3, 3) << f.x(), 0, c.x(), 0, f.y(), c.y(), 0, 0, 1);
  LensCoefficients values = camera.lens.values();
  const cv::Mat D(1, camera.lens.size(), CV_64F, values.data());
  out << "lens_model" << std::string(camera.lens.model().name());
  out << "camera_matrix" << K;
  out << "distortion_coefficients" << D;
  put_covariance(out, camera);
  if (camera.lens_locked) out << "lens_locked" << 1;
  put(out, "rms_px", camera.rms_px);
  put(out, "nearest_mm", camera.nearest_mm);
  put(out, "farthest_mm", camera.farthest_mm);
  put(out, "camera_make", camera.identity.make);
  put(out, "camera_model", camera.identity.model);
  put(out, "lens", camera.identity.lens);
  put(out, "focal_length_mm", camera.identity.focal_length_mm);
  put(out, "focal_length_35mm", camera.identity.focal_length_35mm);
  put(out, "digital_zoom", camera.identity.digital_zoom);
  put_photos(out, camera);
  return out.releaseAndGetString();
}

}  // namespace

CameraModel read_camera_file(const std::filesystem::path& path) {
  const cv::FileStorage in = parse(path);
  CameraModel camera;
  camera.file = path.string();
  read_sensor(in, path, camera);
  camera.lens = Lens(named_model(in, path));
  read_distortion(in, path, camera.lens);
  check_plausible(camera, path);
  read_covariance(in, path, camera);
  read_identity(in, camera);
  read_photos(in, camera);
  camera.lens_locked = number(in["lens_locked"]).value_or(0.0) != 0.0;
  camera.rms_px = number(in["rms_px"]);
  camera.nearest_mm = number(in["nearest_mm"]);
  camera.farthest_mm = number(in["farthest_mm"]);
  return camera;
}

void write_camera_file(const CameraModel& camera, const std::filesystem::path& path) {
  const std::string text = as_yaml(camera);
  std::filesystem::path temporary = path;
  temporary += ".part";
  std::error_code failure;
  bool written = !std::filesystem::is_directory(path, failure);
  if (written) {
    std::ofstream out(temporary, std::ios::binary);
    out << text;
    out.close();
    written = !out.fail();
  }
  if (written) {
    std::filesystem::rename(temporary, path, failure);
    written = !failure;
  }
  if (written) return;
  std::filesystem::remove(temporary, failure);
  throw Error("camera file " + path.string() + " cannot be written",
              "choose a folder that exists and may be written to, on a disk with room");
}

}  // namespace evenbevel
