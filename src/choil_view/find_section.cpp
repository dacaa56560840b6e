#include "find_section.hpp"

#include <algorithm>
#include <cmath>

#include <opencv2/imgproc.hpp>

#include "edge_check.hpp"
#include "evenbevel/fit.hpp"
#include "far_border.hpp"
#include "fit/straight.hpp"
#include "near_border.hpp"
#include "row_look.hpp"

namespace evenbevel::choil {
namespace {

constexpr double kPaperShare = 0.5;     // Of the brightest paper: still paper, in shadow.
constexpr double kStandsOut = 0.35;     // Of the paper's light: more than a shadow on it.
constexpr double kLikePaper = 0.88;     // Of the paper's light: beside the blade, nothing but it.
constexpr double kLeastHeightMm = 4.0;  // Of the section before paper.
constexpr double kBesideMm = 0.6;       // Paper that must be seen on either side.
constexpr double kAlignedInMm = 0.3;    // Rows averaged while following the end face, half.
constexpr int kSureColumns = 12;        // An end face thinner than this shows no light of its own.
constexpr int kRoomColumns = 8;         // Of the blade behind: less shows no light of its own.

class Finder {
 public:
  Finder(const Straightened& image, const SectionPlane& plane) : image_(image), plane_(plane) {
    cv::blur(image.light, smooth_, {1, 3});
    beside_ = static_cast<int>(std::ceil(kBesideMm / image.step_y_mm));
  }

  Search search() {
    Search result;
    for (int row = 0; row < smooth_.rows; ++row)
      looks_.push_back(look_at(smooth_, row, kStandsOut));
    std::vector<float> papers;
    for (const RowLook& look : looks_) papers.push_back(static_cast<float>(look.paper));
    paper_ = percentile(papers, 0.9);
    result.paper = paper_;
    std::optional<std::vector<Run>> chain = longest_chain();
    if (!chain) return result;
    extend_up(*chain);
    end_at_tang(*chain);
    result.section = follow(*chain);
    return result;
  }

 private:
  bool before_paper(int row, const Run& run) const {
    const RowLook& look = looks_[static_cast<std::size_t>(row)];
    if (look.paper < kPaperShare * paper_) return false;
    return run.first >= beside_ && run.last < smooth_.cols - beside_;
  }

  /// The run of the row that continues the run below it.
  std::optional<Run> continued(int row, const Run& below) const {
    std::optional<Run> best;
    int most = 0;
    for (const Run& run : looks_[static_cast<std::size_t>(row)].runs) {
      const int shared = std::min(run.last, below.last) - std::max(run.first, below.first) + 1;
      if (shared > most && before_paper(row, run)) {
        best = run;
        most = shared;
      }
    }
    return best;
  }

  /// Upward from every row at which something starts: the tallest thing that ends in an edge.
  std::optional<std::vector<Run>> longest_chain() {
    const int least = static_cast<int>(kLeastHeightMm / image_.step_down_mm);
    std::vector<Run> best;
    for (int row = smooth_.rows - 1; row >= least;) {
      int lowest_reached = row;
      for (const Run& start : looks_[static_cast<std::size_t>(row)].runs) {
        if (!before_paper(row, start)) continue;
        std::vector<Run> chain{start};
        int at = row - 1;
        for (; at >= 0; --at) {
          const std::optional<Run> next = continued(at, chain.back());
          if (!next) break;
          chain.push_back(*next);
        }
        const bool ends = at > 2;  // else it leaves the cut-out at its top
        if (ends && chain.size() > best.size()) {
          best = chain;
          bottom_row_ = row;
        }
        lowest_reached = std::min(lowest_reached, at);
      }
      row = std::min(row - 1, std::max(lowest_reached, row - 10));
    }
    if (static_cast<int>(best.size()) < least) return std::nullopt;
    std::reverse(best.begin(), best.end());
    return best;
  }

  /// The tang, nearer to the camera than the end, steps out on the side away from the camera: no
  /// side of a section opens so steeply. What lies below is no section.
  void end_at_tang(std::vector<Run>& chain) {
    constexpr double kWithinMm = 0.6, kStepMm = 0.45, kFromMm = 1.5, kClearMm = 0.3;
    const auto rows = [&](double mm) { return static_cast<std::size_t>(mm / image_.step_down_mm); };
    const Run& first = chain.front();
    const bool far_is_first = plane_.foot_mm().x() > y_mm(0.5 * (first.first + first.last));
    const auto out = [&](std::size_t i) {
      return (far_is_first ? -chain[i].first : chain[i].last) * image_.step_y_mm;
    };
    for (std::size_t i = rows(kFromMm); i + rows(kWithinMm) < chain.size(); ++i) {
      if (out(i + rows(kWithinMm)) - out(i) < kStepMm) continue;
      std::size_t last = i + rows(kWithinMm);
      while (last > i && out(last - 1) - out(i) > 0.2 * kStepMm) --last;
      last = std::max<std::size_t>(last, rows(kFromMm)) - rows(kClearMm);
      bottom_row_ -= static_cast<int>(chain.size() - last);
      chain.resize(last);
      before_tang_ = true;
      return;
    }
  }

  /// Where the blade mirrors the paper or a lamp it is nearly as light as the paper, and yet goes
  /// on: fainter runs above, in line with the chain.
  void extend_up(std::vector<Run>& chain) const {
    constexpr double kFaint = 0.12;
    constexpr int kLeastRows = 3, kMostMissing = 5, kSlackColumns = 4;
    std::vector<Run> more{chain.front()};
    std::size_t seen = 1;
    int missing = 0;
    const int top = bottom_row_ - static_cast<int>(chain.size()) + 1;
    for (int row = top - 1; row >= 0 && missing <= kMostMissing; --row) {
      const Run& below = more.back();
      Run next = below;
      ++missing;
      for (const Run& run : look_at(smooth_, row, kFaint).runs) {
        if (run.first < below.first - kSlackColumns || run.last > below.last + kSlackColumns) {
          continue;
        }
        next = run;
        missing = 0;
      }
      more.push_back(next);
      if (missing == 0) seen = more.size();
    }
    if (static_cast<int>(seen) - 1 < kLeastRows || seen + 2 > static_cast<std::size_t>(top)) return;
    more.resize(seen);
    chain.insert(chain.begin(), more.rbegin(), more.rend() - 1);
  }

  double y_mm(double column) const { return image_.y_mm(column); }

  RoughSection follow(const std::vector<Run>& chain) {
    RoughSection section;
    section.step_mm = image_.step_down_mm;
    const int top = bottom_row_ - static_cast<int>(chain.size()) + 1;
    section.edge_down_mm = section.top_down_mm = image_.down_mm(top - 0.5);
    std::vector<float> middles, papers;
    for (const Run& run : chain) middles.push_back(0.5F * static_cast<float>(run.first + run.last));
    near_ = plane_.foot_mm().x() > y_mm(median_of(middles)) ? 1 : -1;
    section.near = near_;
    inward_ = near_;  // from the far border toward the near one
    std::vector<int> far;
    for (const Run& run : chain) far.push_back(near_ > 0 ? run.first : run.last);
    align(top, far);
    measure_reach(chain, top);
    find_near_borders(far, top);
    for (std::size_t i = 0; i < chain.size(); ++i) {
      section.rows.push_back(end_face(i, top + static_cast<int>(i), chain[i], far[i]));
      papers.push_back(static_cast<float>(section.rows.back().paper));
    }
    section.paper = median_of(papers);
    section.behind = behind_;
    for (std::size_t i = 0; i < far.size(); ++i) {
      section.far_mm.emplace_back(y_mm(far[i] - 0.5 * inward_),
                                  image_.down_mm(top + static_cast<int>(i)));
    }
    section.rows.erase(section.rows.begin(),
                       section.rows.begin() + static_cast<std::ptrdiff_t>(first_row_));
    section.edge_down_mm += static_cast<double>(first_row_) * image_.step_down_mm;
    straighten_out(section.rows);
    count_behind(section);
    if (!before_tang_) follow_down(section.rows);
    return section;
  }

  /// Rows shifted so that the far border stands upright, each averaged with its neighbours.
  void align(int top, const std::vector<int>& far) {
    constexpr double kReachMm = 9.0;
    const int columns = static_cast<int>(kReachMm / image_.step_y_mm);
    const int rows = static_cast<int>(far.size());
    aligned_ = cv::Mat::zeros(rows, columns, CV_32F);
    for (int row = 0; row < rows; ++row) {
      const float* from = image_.light.ptr<float>(top + row);
      auto* to = aligned_.ptr<float>(row);
      for (int i = 0; i < columns; ++i) {
        const int column = far[static_cast<std::size_t>(row)] + inward_ * i;
        if (column >= 0 && column < image_.light.cols) to[i] = from[column];
      }
    }
    const int half = static_cast<int>(kAlignedInMm / image_.step_down_mm);
    cv::blur(aligned_, aligned_, {1, 2 * half + 1}, {-1, -1}, cv::BORDER_REPLICATE);
  }

  /// Columns from the far border to where only paper is seen, the blade behind included.
  void measure_reach(const std::vector<Run>& chain, int top) {
    reach_.clear();
    const int most = aligned_.cols - 6;
    for (std::size_t i = 0; i < chain.size(); ++i) {
      const RowLook& look = looks_[static_cast<std::size_t>(top) + i];
      const double paper =
          kLikePaper * (look.paper + look.tilt * (chain[i].last - 0.5 * smooth_.cols));
      const float* light = aligned_.ptr<float>(static_cast<int>(i));
      int k = std::min(chain[i].length(), most);
      while (k < most && std::min(light[k], light[k + 1]) < paper) ++k;
      reach_.push_back(k);
    }
  }

  /// Width of the end face in columns, each row. The blade behind, where it shows, lies between
  /// its near border and the paper.
  void find_near_borders(const std::vector<int>& far, int top) {
    constexpr int kOutside = 8;  // Columns of paper beside the far border.
    constexpr double kSteadyMm = 0.5;
    cv::Mat map(aligned_.rows, aligned_.cols + kOutside, CV_32FC2), upright;
    // The far border's course without the columns' own jumps.
    const std::vector<double> steady = smoothed(std::vector<double>(far.begin(), far.end()),
                                                static_cast<int>(kSteadyMm / image_.step_down_mm));
    for (int row = 0; row < map.rows; ++row) {
      for (int k = 0; k < map.cols; ++k) {
        const double column = steady[static_cast<std::size_t>(row)] + inward_ * (k - kOutside);
        map.at<cv::Vec2f>(row, k) = {static_cast<float>(column), static_cast<float>(top + row)};
      }
    }
    cv::remap(image_.light, upright, map, {}, cv::INTER_LINEAR, cv::BORDER_REPLICATE);
    std::vector<int> reach;
    for (const int columns : reach_) reach.push_back(columns + kOutside);
    const FollowedBorder border = follow_near_border(upright, kOutside, reach, image_.step_down_mm);
    widths_.clear();
    for (std::size_t i = 0; i < reach_.size(); ++i) {
      const double column = steady[i] + inward_ * (border.column[i] - kOutside);
      const double width = inward_ * (column - far[i]) + 0.5;
      widths_.push_back(std::clamp(static_cast<int>(std::lround(width)), 1, reach_[i]));
    }
    evidence_ = border.evidence;
    carry_up(border.first_told);
    learn_behind();
    first_row_ = first_below_turn(far, image_.step_down_mm);
    if (!may_show_above(static_cast<double>(first_row_) * image_.step_down_mm)) first_row_ = 0;
  }

  /// Where the end face is too thin for its near border to be told, it is carried on upward in a
  /// straight line from where it was.
  void carry_up(int first_told) {
    constexpr double kAboutMm = 3.0;
    const auto top = static_cast<std::size_t>(first_told);
    const std::size_t end =
        std::min(top + static_cast<std::size_t>(kAboutMm / image_.step_down_mm), widths_.size());
    if (top + 5 > end) return;
    std::vector<Eigen::Vector2d> known;
    for (std::size_t k = top; k < end; ++k) known.emplace_back(static_cast<double>(k), widths_[k]);
    const LineFit line = fit_line_robust(known);
    for (std::size_t i = 0; i < top; ++i) {
      const double width = line.centre.y() + std::tan(line.direction_rad) *
                                                 (static_cast<double>(i) - line.centre.x());
      widths_[i] = std::clamp(static_cast<int>(std::lround(width)), 1, reach_[i]);
    }
  }

  void learn_behind() {
    constexpr std::size_t kRows = 60;
    std::vector<float> behinds;
    for (std::size_t i = 0; i < widths_.size() && behinds.size() < kRows; ++i) {
      const int width = widths_[i];
      if (width < kSureColumns || reach_[i] - width < kRoomColumns) continue;
      const float* light = aligned_.ptr<float>(static_cast<int>(i));
      behinds.push_back(median_of_range(light, width + 2, width + 6));
    }
    if (behinds.size() >= 5) behind_ = median_of(behinds);
  }

  /// Whether so much of the blade behind can be seen above the edge from where the camera stands.
  bool may_show_above(double shown_mm) const {
    const int top = bottom_row_ - static_cast<int>(widths_.size()) + 1;
    return shown_mm <= shown_above(plane_, image_.down_mm(top) + shown_mm).most_mm;
  }

  static float median_of_range(const float* light, int first, int end) {
    return static_cast<float>(median_of({light + first, light + std::max(end, first + 1)}));
  }

  RoughRow end_face(std::size_t i, int row, const Run& run, int far) const {
    const RowLook& look = looks_[static_cast<std::size_t>(row)];
    const float* light = aligned_.ptr<float>(static_cast<int>(i));
    const int length = reach_[i], width = widths_[i];
    RoughRow out;
    out.down_mm = image_.down_mm(row);
    out.paper = look.paper + look.tilt * (0.5 * (run.first + run.last) - 0.5 * smooth_.cols);
    out.steel =
        static_cast<double>(median_of_range(light, std::min(3, width / 2), std::max(3, width / 2)));
    const double far_mm = y_mm(far - 0.5 * inward_);
    const double near_mm = y_mm(far + inward_ * (width - 0.5));
    out.left_mm = std::max(far_mm, near_mm);
    out.right_mm = std::min(far_mm, near_mm);
    out.behind_mm = (length - width) * image_.step_y_mm;
    out.evidence = evidence_[i];
    return out;
  }

  /// Rows whose near border strays from the line through the rows about them follow that line.
  void straighten_out(std::vector<RoughRow>& rows) const {
    constexpr double kAboutMm = 2.0, kStrayMm = 0.15, kShortMm = 0.6;
    const int about = static_cast<int>(kAboutMm / image_.step_down_mm);
    const std::vector<RoughRow> before = rows;
    const int count = static_cast<int>(rows.size());
    for (int i = 0; i < count; ++i) {
      const RoughRow& own = before[static_cast<std::size_t>(i)];
      if (own.left_mm - own.right_mm + own.behind_mm < kShortMm) continue;
      std::vector<double> widths;
      for (int k = std::max(0, i - about); k <= std::min(count - 1, i + about); ++k) {
        const RoughRow& row = before[static_cast<std::size_t>(k)];
        widths.push_back(row.left_mm - row.right_mm);
      }
      const double middle = median(widths), width = own.left_mm - own.right_mm;
      const double allowed = kStrayMm + mad_sigma(widths, middle);
      if (std::abs(width - middle) <= allowed) continue;
      RoughRow& row = rows[static_cast<std::size_t>(i)];
      row.behind_mm = std::max(0.0, row.behind_mm + width - middle);
      (near_ > 0 ? row.left_mm : row.right_mm) += near_ * (middle - width);
    }
  }

  void count_behind(RoughSection& section) const {
    constexpr double kSeenMm = 0.12;
    int seen = 0;
    for (const RoughRow& row : section.rows) seen += row.behind_mm > kSeenMm ? 1 : 0;
    section.behind_share = static_cast<double>(seen) / static_cast<double>(section.rows.size());
    if (section.behind_share < 0.1) section.near = 0;
  }

  /// Below the paper, before the jaws and between them: the nearest borders outward from within.
  void follow_down(std::vector<RoughRow>& rows) const {
    constexpr double kGiveUpMm = 4.0;
    const int give_up = static_cast<int>(kGiveUpMm / image_.step_down_mm);
    int missed = 0;
    for (int row = bottom_row_ + 1; row < smooth_.rows && missed < give_up; ++row) {
      const std::optional<RoughRow> next = continue_down(rows, row);
      if (!next) {
        ++missed;
        continue;
      }
      missed = 0;
      rows.push_back(*next);
    }
  }

  /// Where the last few mm put a border at this height.
  static double expected(const std::vector<RoughRow>& rows, double RoughRow::*which, double down,
                         std::size_t about) {
    const std::size_t from = rows.size() > about ? rows.size() - about : 0;
    std::vector<Eigen::Vector2d> last;
    for (std::size_t i = from; i < rows.size(); ++i) {
      last.emplace_back(rows[i].down_mm - down, rows[i].*which);
    }
    const std::optional<Straight> line = straight_through(last);
    return line ? line->value : last.back().y();
  }

  /// Below the spine there is no steel: the gap between the jaws, or what lies behind it.
  bool like_the_last(const std::vector<RoughRow>& rows, double steel) const {
    constexpr double kAboutMm = 3.0, kMost = 1.8;
    const auto about = static_cast<std::size_t>(kAboutMm / image_.step_down_mm);
    std::vector<double> last;
    for (std::size_t i = rows.size() > about ? rows.size() - about : 0; i < rows.size(); ++i) {
      last.push_back(rows[i].steel);
    }
    const double middle = median(last);
    return steel < kMost * middle && middle < kMost * steel;
  }

  std::optional<RoughRow> continue_down(const std::vector<RoughRow>& rows, int row) const {
    constexpr double kStrayMm = 0.3, kAboutMm = 4.0;
    const auto about = static_cast<std::size_t>(kAboutMm / image_.step_down_mm);
    RoughRow out;
    out.before_paper = false;
    out.down_mm = image_.down_mm(row);
    const double left = expected(rows, &RoughRow::left_mm, out.down_mm, about);
    const double right = expected(rows, &RoughRow::right_mm, out.down_mm, about);
    const double width = left - right;
    const auto column = [&](double y) {
      return static_cast<int>(std::lround((y - image_.y0_mm) / image_.step_y_mm));
    };
    if (width < 0.4 || column(right) < 8 || column(left) > smooth_.cols - 9) return std::nullopt;
    std::vector<float> light(static_cast<std::size_t>(smooth_.cols), 0.0F);
    const int half = 2, low = std::max(row - half, 0),
              high = std::min(row + half, smooth_.rows - 1);
    for (int r = low; r <= high; ++r) {
      const float* from = image_.light.ptr<float>(r);
      for (std::size_t i = 0; i < light.size(); ++i) light[i] += from[i] / float(high - low + 1);
    }
    const std::vector<float> inside(light.begin() + column(right + 0.25 * width),
                                    light.begin() + column(left - 0.25 * width) + 1);
    if (inside.size() < 4) return std::nullopt;
    out.steel = median_of(inside);
    if (!like_the_last(rows, out.steel)) return std::nullopt;
    const std::vector<double> values(inside.begin(), inside.end());
    const double noise = mad_sigma(values, out.steel);
    const double changed = std::max(5.0 * noise, 0.15 * out.steel);
    const auto border = [&](double from, int side) -> std::optional<double> {
      for (int k = column(from); k > 3 && k + 3 < smooth_.cols; k += side) {
        const auto off = [&](int at) {
          return std::abs(static_cast<double>(light[static_cast<std::size_t>(at)]) - out.steel);
        };
        if (off(k) < changed || off(k + side) < changed) continue;
        int best = k;
        float most = 0.0F;
        for (int at = k - 2; at <= k + 2; ++at) {
          const float change = std::abs(light[static_cast<std::size_t>(at)] -
                                        light[static_cast<std::size_t>(at - side)]);
          if (change > most) {
            most = change;
            best = at;
          }
        }
        return y_mm(best - 0.5 * side);
      }
      return std::nullopt;
    };
    const std::optional<double> on_left = border(left - 0.25 * width, 1);
    const std::optional<double> on_right = border(right + 0.25 * width, -1);
    if (!on_left || !on_right) return std::nullopt;
    if (std::abs(*on_left - left) > kStrayMm || std::abs(*on_right - right) > kStrayMm) {
      return std::nullopt;
    }
    out.left_mm = *on_left;
    out.right_mm = *on_right;
    return out;
  }

  const Straightened& image_;
  const SectionPlane& plane_;
  cv::Mat smooth_, aligned_;
  std::vector<int> reach_, widths_;
  std::vector<double> evidence_;  // Of the near border, a row each.
  std::vector<RowLook> looks_;
  double paper_ = 0.0, behind_ = 0.0;
  std::size_t first_row_ = 0;
  bool before_tang_ = false;
  int beside_ = 0, bottom_row_ = 0, near_ = 1, inward_ = 1;
};

}  // namespace

Search find_section(const Straightened& image, const SectionPlane& plane) {
  return Finder(image, plane).search();
}

}  // namespace evenbevel::choil
