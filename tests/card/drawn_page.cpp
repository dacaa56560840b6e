#include "drawn_page.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <regex>
#include <stdexcept>
#include <string>

#include <opencv2/imgcodecs.hpp>

#include "evenbevel/units.hpp"
#include "run_program.hpp"
#include "scratch_folder.hpp"

namespace evenbevel::test {
namespace {

bool is_dark(char ink) { return ink == 'B' || ink == 'G'; }

class RasterPage : public DrawnPage {
 public:
  RasterPage(cv::Mat bgr, double px_per_mm) : bgr_(std::move(bgr)), px_per_mm_(px_per_mm) {}

  Eigen::Vector2d size_mm() const override {
    return Eigen::Vector2d(bgr_.cols, bgr_.rows) / px_per_mm_;
  }

  char ink(const Eigen::Vector2d& at_mm) const override {
    const cv::Vec3b& c = bgr_.at<cv::Vec3b>(static_cast<int>(at_mm.y() * px_per_mm_),
                                            static_cast<int>(at_mm.x() * px_per_mm_));
    if (c == cv::Vec3b(0, 0, 0)) return 'B';
    if (c == cv::Vec3b(255, 255, 255)) return 'W';
    return c == cv::Vec3b(60, 110, 0) ? 'G' : '?';
  }

  // Pixel i covers [i, i + 1) of the way; a border inside a pixel shows as its grey.
  std::vector<double> borders_mm(const Eigen::Vector2d& from_mm, Way way,
                                 double length_mm) const override {
    const auto x = static_cast<int>(from_mm.x() * px_per_mm_);
    const auto y = static_cast<int>(from_mm.y() * px_per_mm_);
    const int first = way == Way::right ? x : y;
    const int last = first + static_cast<int>(length_mm * px_per_mm_);
    const auto light = [&](int i) {  // red: black and green are both 0 there
      return (way == Way::right ? bgr_.at<cv::Vec3b>(y, i) : bgr_.at<cv::Vec3b>(i, x))[2] / 255.0;
    };
    std::vector<double> borders;
    for (int i = first; i < last;) {
      const double before = light(i);
      int j = i + 1;
      if (j <= last && light(j) == before) {
        i = j;
        continue;
      }
      // At most two pixels hold the border, then its other side.
      double covered = 0.0;
      while (j < last && std::abs(light(j) - before) < 0.99 && j < i + 3) ++j;
      const double after = light(j);
      if (std::abs(after - before) < 0.99) {
        i = j;
        continue;
      }
      for (int k = i + 1; k < j; ++k) covered += (after - light(k)) / (after - before);
      borders.push_back((i + 1 + covered) / px_per_mm_);
      i = j;
    }
    return borders;
  }

 private:
  cv::Mat bgr_;
  double px_per_mm_;
};

struct Box {
  Eigen::Vector2d low, high;
  char ink;
};

char ink_of(const std::string& red, const std::string& green, const std::string& blue) {
  const auto byte = [](const std::string& share) { return std::lround(std::stod(share) * 2.55); };
  const std::array<long, 3> rgb{byte(red), byte(green), byte(blue)};
  if (rgb == std::array<long, 3>{0, 0, 0}) return 'B';
  if (rgb == std::array<long, 3>{255, 255, 255}) return 'W';
  return rgb == std::array<long, 3>{0, 110, 60} ? 'G' : '?';
}

/// Filled rectangles of a page in user units of 1 mm; lines and letters are left out.
class VectorPage : public DrawnPage {
 public:
  explicit VectorPage(const std::string& svg) {
    const std::regex head(
        R"re(width="([\d.]+)mm" height="([\d.]+)mm" viewBox="0 0 (\S+) (\S+)")re");
    std::smatch found;
    if (!std::regex_search(svg, found, head)) throw std::runtime_error("no size in mm");
    size_ = {std::stod(found[1]), std::stod(found[2])};
    if (size_ != Eigen::Vector2d(std::stod(found[3]), std::stod(found[4]))) {
      throw std::runtime_error("the SVG's unit is not 1 mm");
    }
    std::size_t start = svg.find("</defs>");
    start = start == std::string::npos ? 0 : start;
    while ((start = svg.find("<path ", start)) != std::string::npos) {
      const std::size_t end = svg.find("/>", start);
      add_path(svg.substr(start, end - start));
      start = end;
    }
  }

  Eigen::Vector2d size_mm() const override { return size_; }

  char ink(const Eigen::Vector2d& at_mm) const override {
    char ink = 'W';
    for (const Box& box : boxes_) {
      const bool inside =
          (at_mm.array() >= box.low.array()).all() && (at_mm.array() < box.high.array()).all();
      if (inside) ink = box.ink;
    }
    return ink;
  }

  std::vector<double> borders_mm(const Eigen::Vector2d& from_mm, Way way,
                                 double length_mm) const override {
    const Eigen::Index axis = way == Way::right ? 0 : 1;
    std::vector<double> places;
    for (const Box& box : boxes_) {
      for (const double place : {box.low(axis), box.high(axis)}) {
        const double gone = place - from_mm(axis);
        if (gone > 0.0 && gone < length_mm) places.push_back(place);
      }
    }
    std::sort(places.begin(), places.end());
    places.erase(std::unique(places.begin(), places.end()), places.end());
    std::vector<double> borders;
    for (const double place : places) {
      Eigen::Vector2d before = from_mm;
      Eigen::Vector2d after = from_mm;
      before(axis) = place - 1e-4;
      after(axis) = place + 1e-4;
      if (is_dark(ink(before)) != is_dark(ink(after))) borders.push_back(place);
    }
    return borders;
  }

 private:
  void add_path(const std::string& path) {
    static const std::regex fill(R"(fill:rgb\(([\d.]+)%,([\d.]+)%,([\d.]+)%\))");
    static const std::regex box(R"(M (\S+) (\S+) L (\S+) (\S+) L (\S+) (\S+) L (\S+) (\S+) Z)");
    std::smatch colour;
    if (!std::regex_search(path, colour, fill)) return;
    const char ink = ink_of(colour[1], colour[2], colour[3]);
    for (std::sregex_iterator at(path.begin(), path.end(), box), end; at != end; ++at) {
      const auto number = [&at](std::size_t i) { return std::stod((*at)[i]); };
      // Only upright rectangles: M x0 y0 L x1 y0 L x1 y1 L x0 y1.
      if (number(2) != number(4) || number(3) != number(5) || number(1) != number(7)) continue;
      boxes_.push_back({{number(1), number(2)}, {number(5), number(6)}, ink});
    }
  }

  Eigen::Vector2d size_ = Eigen::Vector2d::Zero();
  std::vector<Box> boxes_;
};

/// Pixels per mm that a PNG states (chunk pHYs: per metre, big-endian).
double stated_px_per_mm(const std::string& png) {
  const std::size_t at = png.find("pHYs");
  if (at == std::string::npos) throw std::runtime_error("no pHYs in the PNG");
  double per_metre = 0.0;
  for (std::size_t i = 0; i < 4; ++i) {
    per_metre = 256.0 * per_metre + static_cast<unsigned char>(png[at + 4 + i]);
  }
  return per_metre / 1000.0;
}

}  // namespace

cv::Mat raster_of_pdf(const std::filesystem::path& file, int dots_per_inch) {
  const ScratchFolder scratch;
  const ProgramRun run =
      run_program("pdftoppm -png -singlefile -r " + std::to_string(dots_per_inch) + " '" +
                  file.string() + "' '" + (scratch / "page").string() + "'");
  if (run.exit_code != 0) throw std::runtime_error("pdftoppm: " + run.output);
  return cv::imread((scratch / "page.png").string(), cv::IMREAD_COLOR);
}

std::unique_ptr<DrawnPage> read_page(const std::filesystem::path& file, CardFormat format) {
  constexpr int kPdfDotsPerInch = 300;
  switch (format) {
    case CardFormat::pdf:
      return std::make_unique<RasterPage>(raster_of_pdf(file, kPdfDotsPerInch),
                                          kPdfDotsPerInch / kMmPerInch);
    case CardFormat::svg:
      return std::make_unique<VectorPage>(file_text(file));
    case CardFormat::png:
      return std::make_unique<RasterPage>(cv::imread(file.string(), cv::IMREAD_COLOR),
                                          stated_px_per_mm(file_text(file)));
  }
  return nullptr;
}

std::unique_ptr<DrawnPage> drawn_page(CardKind kind, Sheet sheet, CardFormat format) {
  const ScratchFolder scratch;
  draw_card(kind, sheet, format, scratch / "card");
  return read_page(scratch / "card", format);
}

}  // namespace evenbevel::test
