#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <string>

#include <Eigen/Core>
#include <opencv2/core/utility.hpp>

#include "evenbevel/card.hpp"
#include "evenbevel/error.hpp"
#include "fit/dense.hpp"
#include "markers.hpp"
#include "saddle.hpp"

namespace evenbevel {
namespace {

constexpr std::size_t kNeighbours = 4;   // markers that predict a corner
constexpr double kReach_cells = 3.2;     // a marker further off says too little
constexpr std::size_t kCardMarkers = 3;  // fewer are a stray reading unless corners stand by it
constexpr std::size_t kOtherCardCorners = 4;
constexpr int kOtherCardMarkers = 2;  // one may be a misreading

// A card point near a corner, in cells from it, and where it is seen.
struct Seen {
  Eigen::Vector2d cells;
  Eigen::Vector2d q_px;
};

// Homography by linear least squares, its last element 1: the corner itself is the origin and in
// front of the camera. Pixels are taken relative to the points' mean.
struct LocalMap {
  Eigen::Matrix<double, 8, 1> h;
  Eigen::Vector2d origin_px;

  Eigen::Vector2d at(const Eigen::Vector2d& p) const {
    const double w = h(6) * p.x() + h(7) * p.y() + 1.0;
    return origin_px +
           Eigen::Vector2d(h(0) * p.x() + h(1) * p.y() + h(2), h(3) * p.x() + h(4) * p.y() + h(5)) /
               w;
  }
};

std::optional<LocalMap> fit_local_map(const std::vector<Seen>& points) {
  LocalMap map;
  map.origin_px.setZero();
  for (const Seen& point : points) map.origin_px += point.q_px;
  map.origin_px /= static_cast<double>(points.size());
  Eigen::Matrix<double, 8, 8> A = Eigen::Matrix<double, 8, 8>::Zero();
  Eigen::Matrix<double, 8, 1> b = Eigen::Matrix<double, 8, 1>::Zero();
  double scale = 1.0;
  for (const Seen& point : points) scale = std::max(scale, (point.q_px - map.origin_px).norm());
  for (const Seen& point : points) {
    const Eigen::Vector2d& p = point.cells;
    const Eigen::Vector2d q = (point.q_px - map.origin_px) / scale;
    Eigen::Matrix<double, 2, 8> rows;
    rows << p.x(), p.y(), 1, 0, 0, 0, -q.x() * p.x(), -q.x() * p.y(),  //
        0, 0, 0, p.x(), p.y(), 1, -q.y() * p.x(), -q.y() * p.y();
    A += rows.transpose() * rows;
    b += rows.transpose() * q;
  }
  map.h = solved(A, b);
  if (!map.h.allFinite()) return std::nullopt;
  map.h.head<6>() *= scale;
  return map;
}

// Corners of the markers nearest to a corner of the card.
std::vector<Seen> neighbourhood(const CardLayout& card, const std::vector<CardMarker>& markers,
                                const Eigen::Vector2d& corner_mm) {
  struct Near {
    double cells;
    const CardMarker* marker;
  };
  std::vector<Near> near;
  for (const CardMarker& marker : markers) {
    const Eigen::Vector2d centre_mm =
        card.cell_top_left_mm(marker.cell) + 0.5 * card.pitch_mm * Eigen::Vector2d(1.0, -1.0);
    const double cells = (centre_mm - corner_mm).norm() / card.pitch_mm;
    if (cells <= kReach_cells) near.push_back({cells, &marker});
  }
  const std::size_t count = std::min(kNeighbours, near.size());
  std::partial_sort(near.begin(), near.begin() + static_cast<std::ptrdiff_t>(count), near.end(),
                    [](const Near& a, const Near& b) { return a.cells < b.cells; });
  std::vector<Seen> points;
  for (std::size_t i = 0; i < count; ++i) {
    const std::array<Eigen::Vector2d, 4> on_card = marker_corners_mm(card, near[i].marker->cell);
    for (std::size_t k = 0; k < 4; ++k) {
      points.push_back({(on_card[k] - corner_mm) / card.pitch_mm, near[i].marker->corners_px[k]});
    }
  }
  return points;
}

// The cell right of and above the corner is black.
bool dark_upper_right(const CardLayout& card, const Eigen::Vector2d& corner_mm) {
  const Eigen::Vector2d cells = (corner_mm - card.cell_top_left_mm({0, 0})) / card.pitch_mm;
  const long column = std::lround(cells.x()), row = std::lround(-cells.y());
  return (column + row - 1) % 2 == 0;
}

std::optional<SaddleGuess> predict(const CardLayout& card, const std::vector<CardMarker>& markers,
                                   const Eigen::Vector2d& corner_mm) {
  const std::vector<Seen> points = neighbourhood(card, markers, corner_mm);
  if (points.empty()) return std::nullopt;
  const std::optional<LocalMap> map = fit_local_map(points);
  if (!map) return std::nullopt;
  SaddleGuess guess;
  guess.q_px = map->at(Eigen::Vector2d::Zero());
  guess.u_px = map->at({0.5, 0.0}) - map->at({-0.5, 0.0});
  guess.v_px = map->at({0.0, 0.5}) - map->at({0.0, -0.5});
  guess.dark_between = dark_upper_right(card, corner_mm);
  return guess;
}

struct Candidate {
  CardCorner corner;
  double spacing_px = 0.0;
  double edge_width_px = 0.0;
  double contrast = 0.0;
};

/// Of an even number the larger middle one; 0 of none.
double upper_median(std::vector<double> values) {
  if (values.empty()) return 0.0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

template <class Field>
double median_of(const std::vector<Candidate>& candidates, Field Candidate::*field) {
  std::vector<double> values;
  values.reserve(candidates.size());
  for (const Candidate& candidate : candidates) values.push_back(candidate.*field);
  return upper_median(std::move(values));
}

std::optional<Candidate> refine_corner(const cv::Mat& grey, const CardLayout& card,
                                       const std::vector<CardMarker>& markers, std::size_t index) {
  const std::optional<SaddleGuess> guess = predict(card, markers, card.corners_mm[index]);
  if (!guess) return std::nullopt;
  const std::optional<Saddle> saddle = refine_saddle(grey, *guess);
  if (!saddle) return std::nullopt;
  return Candidate{{static_cast<int>(index), saddle->q_px},
                   std::min(guess->u_px.norm(), guess->v_px.norm()),
                   saddle->edge_width_px,
                   saddle->contrast};
}

std::vector<Candidate> refine_all(const cv::Mat& grey, const CardLayout& card,
                                  const std::vector<CardMarker>& markers) {
  std::vector<std::optional<Candidate>> refined(card.corners_mm.size());
  cv::parallel_for_(cv::Range(0, static_cast<int>(refined.size())), [&](const cv::Range& range) {
    for (int i = range.start; i < range.end; ++i) {
      const auto index = static_cast<std::size_t>(i);
      refined[index] = refine_corner(grey, card, markers, index);
    }
  });
  std::vector<Candidate> candidates;
  for (const std::optional<Candidate>& candidate : refined) {
    if (candidate) candidates.push_back(*candidate);
  }
  return candidates;
}

// A corner whose borders are much wider than those of the others is half covered, smeared by
// glare or not a corner.
std::vector<Candidate> without_odd_ones(const std::vector<Candidate>& candidates) {
  constexpr double kWiderThanMedian = 1.8;
  constexpr double kContrastShare = 0.25;
  const double width_px = median_of(candidates, &Candidate::edge_width_px);
  const double contrast = median_of(candidates, &Candidate::contrast);
  std::vector<Candidate> kept;
  for (const Candidate& candidate : candidates) {
    if (candidate.edge_width_px > kWiderThanMedian * width_px) continue;
    if (candidate.contrast < kContrastShare * contrast) continue;
    kept.push_back(candidate);
  }
  return kept;
}

FoundCard refine_card(const cv::Mat& grey, const CardMarkers& found) {
  FoundCard card;
  card.kind = found.kind;
  card.markers = static_cast<int>(found.markers.size());
  const std::vector<Candidate> corners =
      without_odd_ones(refine_all(grey, card_layout(found.kind), found.markers));
  for (const Candidate& candidate : corners) card.corners.push_back(candidate.corner);
  card.spacing_px = median_of(corners, &Candidate::spacing_px);
  card.softness_px = median_of(corners, &Candidate::edge_width_px);
  return card;
}

std::string quoted(CardKind kind) { return std::string(name(kind)) + " card"; }

std::string counts(const FoundCard& card) {
  return std::to_string(card.corners.size()) + " corners and " + std::to_string(card.markers) +
         " markers";
}

/// What may have hidden the card, if the picture is nearly black or mostly white.
std::optional<Error> light_fault(const cv::Mat& grey, const std::string& found) {
  constexpr int kDark = 50;  // of 255: printed white is brighter in any usable photo
  constexpr int kWhite = 250;
  constexpr double kMostWhite = 0.5;
  std::array<std::size_t, 256> counts{};
  for (int row = 0; row < grey.rows; ++row) {
    const uchar* levels = grey.ptr<uchar>(row);
    for (int column = 0; column < grey.cols; ++column) ++counts[levels[column]];
  }
  const auto all = static_cast<double>(grey.total());
  double white = 0.0, brighter = 0.0;
  for (int level = kWhite; level < 256; ++level) {
    white += static_cast<double>(counts[static_cast<std::size_t>(level)]) / all;
  }
  int brightest = 255;  // but for 1 % of the picture
  while (brightest > 0) {
    brighter += static_cast<double>(counts[static_cast<std::size_t>(brightest)]) / all;
    if (brighter > 0.01) break;
    --brightest;
  }
  if (brightest < kDark) {
    return Error(found + "; the photo is under-exposed: its bright parts reach " +
                     std::to_string(brightest) + " of 255",
                 "give it more light or turn the exposure up, and take the photo again");
  }
  if (white > kMostWhite) {
    return Error(found + "; the photo is over-exposed: " +
                     std::to_string(static_cast<int>(100.0 * white)) + " % of it is pure white",
                 "turn the exposure down or move the light, and take the photo again");
  }
  return std::nullopt;
}

bool is_in_view(const FoundCard& card) {
  return card.corners.size() >= kOtherCardCorners && card.markers >= kOtherCardMarkers;
}

}  // namespace

std::vector<FoundCard> find_cards(const cv::Mat& grey) {
  std::vector<FoundCard> cards;
  for (const CardMarkers& markers : find_card_markers(grey)) {
    FoundCard card = refine_card(grey, markers);
    if (!card.corners.empty() || markers.markers.size() >= kCardMarkers) {
      cards.push_back(std::move(card));
    }
  }
  return cards;
}

FoundCard require_card(const cv::Mat& grey, CardKind wanted, int needed_corners) {
  const std::vector<FoundCard> cards = find_cards(grey);
  const FoundCard* own = nullptr;
  const FoundCard* other = nullptr;
  for (const FoundCard& card : cards) {
    if (card.kind == wanted) own = &card;
    if (card.kind != wanted && is_in_view(card)) other = &card;
  }
  if (own != nullptr && is_in_view(*own) && other != nullptr) {
    throw Error("two kinds of card are in the picture: the " + quoted(own->kind) + " (" +
                    counts(*own) + ") and the " + quoted(other->kind) + " (" + counts(*other) + ")",
                "leave only the " + quoted(wanted) + " in view, then take the photo again");
  }
  if (other != nullptr) {
    throw Error(
        "the card in the picture is the " + quoted(other->kind) + " (" + counts(*other) +
            "), this measurement needs the " + quoted(wanted),
        "use the " + quoted(wanted) + ", or the command that goes with the " + quoted(other->kind));
  }
  if (own == nullptr) {
    const std::string found = "no " + quoted(wanted) + " found in the picture: 0 corners, " +
                              std::to_string(needed_corners) + " are needed";
    if (const std::optional<Error> fault = light_fault(grey, found)) throw Error(*fault);
    throw Error(found, "lay the printed " + quoted(wanted) +
                           " flat in view, in even light and in focus, with its pattern uncovered");
  }
  if (static_cast<int>(own->corners.size()) < needed_corners) {
    const std::string found = "the " + quoted(wanted) + " shows " + counts(*own) + ", " +
                              std::to_string(needed_corners) + " corners are needed";
    if (const std::optional<Error> fault = light_fault(grey, found)) throw Error(*fault);
    throw Error(found,
                "bring more of the card into view and into focus, with nothing lying on its "
                "pattern and no glare on it");
  }
  return *own;
}

}  // namespace evenbevel
