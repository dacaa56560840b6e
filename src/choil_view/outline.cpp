#include "outline.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "border/levels_fit.hpp"
#include "edge_end.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "far_border.hpp"
#include "fit/straight.hpp"
#include "focus.hpp"
#include "near_border.hpp"
#include "rough_course.hpp"
#include "strays.hpp"

namespace evenbevel::choil {
namespace {

constexpr double kFineToMm = 1.5;  // Behind the edge; bands are short up to here.
constexpr double kFineStepMm = 0.1, kStepMm = 0.25;
constexpr double kThinPx = 12.0;      // A section thinner than this is fitted as one strip.
constexpr double kBehindNearPx = 16;  // The blade behind ends closer than this: in the same fit.
constexpr double kStrayPx = 3.0;
constexpr double kWidePx = 4.0, kWithinShare = 0.4;  // A land with an inside, and that inside.
constexpr double kFaint = 0.25;  // Contrast of end face and blade behind, of that to the paper.
constexpr std::size_t kLeastPoints = 12;
constexpr double kBlurredPx = 3.0;  // Such a photo is refused for its blur.

/// What the deeper, wider part of the section shows, for use where it is thin.
struct Look {
  double blur_px = 0.8;
  double noise = 0.005;  ///< Of one pixel.
  double paper = 0.0, steel = 0.0, behind = 0.0;
  double u_steel = 0.0, u_behind = 0.0;
  double behind_growth = 0.0;    ///< How far it shows, mm per mm behind the edge.
  double behind_softness = 0.3;  ///< Blur of its far border over how far it shows.
};

using Samples = std::vector<ProfileSample>;

class Reader {
 public:
  Reader(const Patch& patch, const SectionPlane& plane, const RoughSection& section)
      : patch_(patch), plane_(plane), section_(section), rough_(section) {
    toward_near_ = section.near < 0 ? -1 : 1;
    edge_mm_ = section.edge_down_mm;
  }

  Outline read() {
    learn_levels();
    learn_behind();
    Outline outline;
    find_edge(outline);
    for (double down = outline.edge_down_mm; down < rough_.last_mm();) {
      const double step = down - outline.edge_down_mm < kFineToMm ? kFineStepMm : kStepMm;
      if (const auto point = read_band(down + 0.5 * step, 0.5 * step)) {
        outline.points.push_back(*point);
      }
      down += step;
    }
    outline.blur_px = look_.blur_px;
    outline.contrast = look_.paper - look_.steel;
    drop_unfocused(outline, patch_, plane_, [&](double down) {
      const auto at = rough_.at(down);
      return at ? at->behind_mm * px_per_mm(down) : 0.0;
    });
    drop_strays(outline, px_per_mm(outline.edge_down_mm));
    end_at_jump(outline);
    outline.coverage = coverage(outline);
    if (outline.points.size() < kLeastPoints && look_.blur_px <= kBlurredPx) {
      throw Error("the section's borders could be followed at only " +
                      std::to_string(outline.points.size()) + " heights, " +
                      std::to_string(kLeastPoints) + " are needed",
                  "light the white paper behind the blade evenly, keep the heel's end in shadow, "
                  "focus on it, and take the photo again");
    }
    outline.px_per_mm = px_per_mm(outline.edge_down_mm);
    outline.behind_seen = look_.behind_growth > 0.0 || section_.near != 0;
    outline.clipped_share = clipped_share();
    return outline;
  }

 private:
  double px_per_mm(double down_mm) const {
    const auto at = rough_.at(std::clamp(down_mm, rough_.first_mm(), rough_.last_mm()));
    return plane_.px_per_mm({at ? 0.5 * (at->left_mm + at->right_mm) : 0.0, down_mm});
  }

  double window_px() const { return std::max(4.0, 3.5 * look_.blur_px + 1.5); }

  /// Profile along y about `middle_mm`, turned so that t grows from the far border to the near one.
  Samples profile(double down_mm, double half_mm, double middle_mm, double lean, double low_px,
                  double high_px, double ppm) const {
    const int s = toward_near_;
    Band band{.middle_mm = {middle_mm, down_mm},
              .lean = lean,
              .half_width_mm = half_mm,
              .low_mm = (s > 0 ? low_px : -high_px) / ppm,
              .high_mm = (s > 0 ? high_px : -low_px) / ppm};
    Samples samples = band_profile(patch_, plane_, band, ppm);
    if (s < 0) {
      std::reverse(samples.begin(), samples.end());
      for (ProfileSample& sample : samples) sample.t_px = -sample.t_px;
    }
    return samples;
  }

  double far_mm(const RoughAt& at) const { return toward_near_ > 0 ? at.right_mm : at.left_mm; }
  double near_mm(const RoughAt& at) const { return toward_near_ > 0 ? at.left_mm : at.right_mm; }
  double far_slope(const RoughAt& at) const {
    return toward_near_ > 0 ? at.right_slope : at.left_slope;
  }
  double near_slope(const RoughAt& at) const {
    return toward_near_ > 0 ? at.left_slope : at.right_slope;
  }

  /// Blur, noise, paper and steel from the far border, which always stands against the paper.
  void learn_levels() {
    std::vector<double> blurs, noises, papers, steels;
    for (const RoughRow& row : section_.rows) {
      if (!row.before_paper || row.down_mm < edge_mm_ + 0.5) continue;
      if (!blurs.empty() && row.down_mm < last_learnt_ + 0.4) continue;
      const auto at = rough_.at(row.down_mm);
      if (!at) continue;
      const double ppm = px_per_mm(row.down_mm);
      const double width_px = (at->left_mm - at->right_mm) * ppm;
      if (width_px < 5.0) continue;
      last_learnt_ = row.down_mm;
      const Samples samples = profile(row.down_mm, 0.15, far_mm(*at), far_slope(*at), -8.0,
                                      std::min(8.0, 0.6 * width_px), ppm);
      const ProfileFit fit = fit_step(samples, 0.0, 0.9);
      if (!fit.converged || std::abs(fit.model.positions_px[0]) > kStrayPx) continue;
      blurs.push_back(fit.model.blur_px);
      noises.push_back(fit.rms);
      papers.push_back(fit.model.background);
      if (steels.size() < 12) {
        steels.push_back(fit.model.background + fit.model.parts[0].amplitude);
      }
    }
    if (blurs.size() < 4) {
      throw Error("the blade's border against the paper is too faint or too short to be measured",
                  "set plain white paper behind the blade, light it, keep the heel's end in "
                  "shadow, and take the photo again");
    }
    look_.blur_px = std::clamp(median(blurs), 0.25, 8.0);
    look_.noise = std::max(median(noises), 5e-4);
    look_.paper = median(papers);
    look_.steel = median(steels);
    look_.u_steel =
        std::max(0.02 * std::abs(look_.paper - look_.steel), mad_sigma(steels, look_.steel));
  }

  /// How the blade behind shows beside the end face near the edge: how fast it comes out, how
  /// light it is and how soft its far border.
  void learn_behind() {
    if (section_.near == 0) return;
    std::vector<double> growths;
    std::vector<RoughRow> usable;
    for (const RoughRow& row : section_.rows) {
      const double behind_edge = row.down_mm - edge_mm_;
      if (!row.before_paper || behind_edge < 0.5 || behind_edge > 8.0) continue;
      const double shown_px = row.behind_mm * px_per_mm(row.down_mm);
      if (shown_px < 5.0 || shown_px > 25.0) continue;
      growths.push_back(row.behind_mm / behind_edge);
      usable.push_back(row);
    }
    if (usable.size() < 4) {
      sample_behind();
      return;
    }
    if (grows_from_edge(usable)) look_.behind_growth = median(growths);
    double least = 0.0;
    look_.behind = 0.0;
    for (const double softness : {0.15, 0.3, 0.45, 0.6, 0.8}) {
      std::vector<double> misfits, lights;
      for (std::size_t i = 0; i < usable.size(); i += std::max<std::size_t>(1, usable.size() / 8)) {
        look_.behind_softness = softness;
        const auto at = rough_.at(usable[i].down_mm);
        if (!at) continue;
        const auto fit = fit_near(usable[i].down_mm, 0.1, *at, px_per_mm(usable[i].down_mm));
        if (!fit || fit->model.level.size() != 3) continue;
        misfits.push_back(fit->rms);
        lights.push_back(fit->model.level[1]);
      }
      if (misfits.size() < 3) continue;
      const double misfit = median(misfits);
      if (least > 0.0 && misfit >= least) continue;
      least = misfit;
      best_softness_ = softness;
      look_.behind = median(lights);
      look_.u_behind =
          std::max(0.04 * std::abs(look_.paper - look_.steel), mad_sigma(lights, look_.behind));
    }
    look_.behind_softness = best_softness_;
    const bool possible = look_.behind > 0.0 && look_.behind < 1.2 * look_.paper;
    if (!possible) sample_behind();
  }

  /// Its light straight from the picture, in the middle of where it shows wide enough.
  void sample_behind() {
    constexpr double kShownPx = 6.0;
    std::vector<double> lights;
    for (const RoughRow& row : section_.rows) {
      const double ppm = px_per_mm(row.down_mm), shown_px = row.behind_mm * ppm;
      const auto at = rough_.at(row.down_mm);
      if (!at || !row.before_paper || shown_px < kShownPx) continue;
      const Samples middle = profile(row.down_mm, 0.1, near_mm(*at), near_slope(*at),
                                     0.35 * shown_px, 0.65 * shown_px, ppm);
      for (const ProfileSample& sample : middle) lights.push_back(sample.value);
    }
    look_.behind = lights.size() < 20 ? 0.0 : median(lights);
    look_.u_behind = lights.size() < 20 ? 0.0
                                        : std::max(0.06 * std::abs(look_.paper - look_.steel),
                                                   mad_sigma(lights, look_.behind));
  }

  /// Seen from below the edge, the blade behind comes out from nothing at the edge.
  bool grows_from_edge(const std::vector<RoughRow>& rows) const {
    constexpr double kNothingMm = 0.15;
    std::vector<Eigen::Vector2d> shown;
    for (const RoughRow& row : rows) shown.emplace_back(row.down_mm - edge_mm_, row.behind_mm);
    const std::optional<Straight> line = straight_through(shown);
    return line && std::abs(line->value) < kNothingMm;
  }

  /// How far the blade behind is expected to show at this height, px.
  double behind_px(double down_mm, const RoughAt& at, double ppm) const {
    if (section_.near == 0) return 0.0;
    const double behind_edge = down_mm - edge_mm_;
    if (look_.behind_growth > 0.0 && (behind_edge < 1.0 || at.behind_mm * ppm < 5.0)) {
      return std::max(0.0, look_.behind_growth * behind_edge * ppm);
    }
    return at.behind_mm * ppm;
  }

  double soft_blur(double shown_px) const {
    return std::hypot(look_.blur_px, look_.behind_softness * shown_px);
  }

  std::optional<LevelsFit> checked(const LevelsFit& fit, std::size_t borders,
                                   const LevelsModel& start) const {
    if (!fit.converged) return std::nullopt;
    for (std::size_t i = 0; i < borders; ++i) {
      if (std::abs(fit.model.border_px[i] - start.border_px[i]) > kStrayPx) return std::nullopt;
      if (std::abs(fit.model.level[i + 1] - fit.model.level[i]) < 4.0 * fit.rms / std::sqrt(5.0)) {
        return std::nullopt;
      }
    }
    return fit;
  }

  std::optional<LevelsFit> fit_far(double down, double half, const RoughAt& at, double ppm) const {
    const double width_px = (at.left_mm - at.right_mm) * ppm;
    const double reach = window_px();
    const Samples samples = profile(down, half, far_mm(at), far_slope(at), -reach,
                                    std::min(reach, 0.6 * width_px), ppm);
    if (samples.size() < 8) return std::nullopt;
    const LevelsModel start{{0.0}, {samples.front().value, samples.back().value}, {look_.blur_px}};
    return checked(fit_levels(samples, start, {}, look_.noise), 1, start);
  }

  /// The blade behind differs little from the end face: the soft border between it and the paper,
  /// much the stronger, would pull the fit. What counts is where the light leaves the end face's.
  bool faint() const {
    return section_.near != 0 && look_.behind > 0.0 &&
           std::abs(look_.behind - look_.steel) < kFaint * std::abs(look_.paper - look_.steel);
  }

  /// The blade behind differs little from the paper: its border with the paper tells nothing, and
  /// in one fit with the end face's would only unsettle that.
  bool pale() const {
    constexpr double kPale = 0.25;
    return look_.behind > 0.0 &&
           std::abs(look_.behind - look_.paper) < kPale * std::abs(look_.paper - look_.steel);
  }

  /// Something shows beside the end face, too narrow everywhere to tell its light.
  bool unknown(double shown_px) const {
    return section_.near != 0 && look_.behind == 0.0 && shown_px > 1.0;
  }

  /// How much of what lies beside a faint near border goes into its fit: while the light still
  /// grows straight.
  double beside_px(double shown_px) const {
    constexpr double kShare = 0.5, kMostPx = 5.0;
    return std::clamp(kShare * shown_px, 1.5 + look_.blur_px, kMostPx);
  }

  /// From several starts: a kink beside a steep slope has more than one place to settle.
  std::optional<LevelsFit> fit_faint(const Samples& samples, const LevelsModel& rough,
                                     const LevelsExpected& expected) const {
    std::optional<LevelsFit> best;
    const std::size_t last = rough.border_px.size() - 1;
    for (const double off : {0.0, -2.0, 2.0}) {
      LevelsModel start = rough;
      start.border_px.back() += off;
      const LevelsFit fit = fit_levels(samples, start, expected, look_.noise);
      if (!fit.converged || fit.u_px[last] > 1.0) continue;
      if (std::abs(fit.model.border_px[last] - rough.border_px[last]) > kStrayPx) continue;
      if (!best || fit.misfit < best->misfit) best = fit;
    }
    return best;
  }

  std::optional<LevelsFit> fit_near(double down, double half, const RoughAt& at, double ppm) const {
    const double width_px = (at.left_mm - at.right_mm) * ppm;
    const double shown = at.before_paper ? behind_px(down, at, ppm) : 0.0;
    if (at.before_paper && faint() && shown > 1.0) {
      const Samples part =
          profile(down, half, near_mm(at), near_slope(at),
                  -std::min(window_px() + 2.0, 0.6 * width_px), beside_px(shown), ppm);
      if (part.size() < 8) return std::nullopt;
      LevelsModel rough{{0.0}, {part.front().value, part.front().value}, {look_.blur_px}};
      rough.has_ramp = true;
      return fit_faint(part, rough, {});
    }
    const bool with_behind = look_.behind > 0.0 && shown > 1.0 && shown < kBehindNearPx && !pale();
    const double reach = window_px();
    const double beyond = with_behind      ? shown + 2.5 * soft_blur(shown) + 2.0
                          : unknown(shown) ? std::clamp(shown, 1.5 + look_.blur_px, reach)
                                           : (at.before_paper ? reach : 3.5);
    const Samples samples = profile(down, half, near_mm(at), near_slope(at),
                                    -std::min(reach, 0.6 * width_px), beyond, ppm);
    if (samples.size() < 8) return std::nullopt;
    LevelsModel start{{0.0}, {samples.front().value, samples.back().value}, {look_.blur_px}};
    LevelsExpected expected;
    if (with_behind) {
      start = {{0.0, shown},
               {samples.front().value, look_.behind, samples.back().value},
               {look_.blur_px, soft_blur(shown)}};
      expected.last_gap_px = {shown, 0.2 * shown + 0.4};
      if (look_.u_behind > 0.0) expected.level = {{}, {look_.behind, 2.0 * look_.u_behind}, {}};
    }
    return checked(fit_levels(samples, start, expected, look_.noise), 1, start);
  }

  /// A thin part: both borders, the steel between them and what shows behind in one fit.
  std::optional<LevelsFit> fit_strip_at(double down, double half, const RoughAt& at,
                                        double ppm) const {
    const double width_px = std::max((at.left_mm - at.right_mm) * ppm, 0.8);
    const double middle = 0.5 * (at.left_mm + at.right_mm);
    const double lean = 0.5 * (at.left_slope + at.right_slope);
    const double shown = behind_px(down, at, ppm);
    const bool straight = faint() && shown > 1.0;
    const bool with_behind =
        !straight && !pale() && look_.behind > 0.0 && shown > 0.2 && shown < kBehindNearPx;
    const double reach = window_px();
    const double beyond = straight      ? beside_px(shown)
                          : with_behind ? std::max(reach, shown + 2.5 * soft_blur(shown) + 1.0)
                                        : reach;
    const Samples samples =
        profile(down, half, middle, lean, -0.5 * width_px - reach, 0.5 * width_px + beyond, ppm);
    if (samples.size() < 10) return std::nullopt;
    LevelsModel start{{-0.5 * width_px, 0.5 * width_px},
                      {samples.front().value, look_.steel, samples.back().value},
                      {look_.blur_px, look_.blur_px}};
    LevelsExpected expected;
    expected.level = {{}, {look_.steel, look_.u_steel}, {}};
    if (straight) {
      start.has_ramp = true;
      start.level[2] = look_.steel;
      return fit_faint(samples, start, expected);
    }
    if (with_behind) {
      start.border_px.push_back(0.5 * width_px + shown);
      start.level.insert(start.level.begin() + 2, look_.behind);
      start.blur_px.push_back(soft_blur(shown));
      expected.level.insert(expected.level.begin() + 2, {look_.behind, look_.u_behind});
      expected.last_gap_px = {shown, 0.2 * shown + 0.15};
    }
    return checked(fit_levels(samples, start, expected, look_.noise), 2, start);
  }

  OutlinePoint point_of(double down, double half, double far, double near, double u_far,
                        double u_near, double u_width) const {
    OutlinePoint point{.down_mm = down, .half_band_mm = half};
    const bool left_is_near = toward_near_ > 0;
    point.left_mm = left_is_near ? near : far;
    point.right_mm = left_is_near ? far : near;
    point.u_left_mm = left_is_near ? u_near : u_far;
    point.u_right_mm = left_is_near ? u_far : u_near;
    point.u_width_mm = u_width;
    return point;
  }

  std::optional<OutlinePoint> read_band(double down, double half) const {
    const auto at = rough_.at(down);
    if (!at || (at->before_paper && !borne_out(*at))) return std::nullopt;
    const double middle = 0.5 * (at->left_mm + at->right_mm);
    const double ppm = plane_.px_per_mm({middle, down});
    const double s = toward_near_;
    if (at->before_paper && (at->left_mm - at->right_mm) * ppm < kThinPx) {
      const auto fit = fit_strip_at(down, half, *at, ppm);
      if (!fit) return std::nullopt;
      const double u_faint = faint_u_mm(down, *at, ppm);
      return point_of(down, half, middle + s * fit->model.border_px[0] / ppm,
                      middle + s * fit->model.border_px[1] / ppm, fit->u_px[0] / ppm,
                      std::hypot(fit->u_px[1] / ppm, u_faint),
                      std::hypot(fit->gap_u_px / ppm, u_faint));
    }
    const auto far = fit_far(down, half, *at, ppm);
    const auto near = fit_near(down, half, *at, ppm);
    if (!far || !near) return std::nullopt;
    const double u_far = far->u_px[0] / ppm,
                 u_near = std::hypot(near->u_px[0] / ppm, faint_u_mm(down, *at, ppm));
    OutlinePoint point = point_of(down, half, far_mm(*at) + s * far->model.border_px[0] / ppm,
                                  near_mm(*at) + s * near->model.border_px[0] / ppm, u_far, u_near,
                                  std::hypot(u_far, u_near));
    point.before_paper = at->before_paper;
    return point;
  }

  /// In a blurred photo no border is sharp: that is for others to say.
  bool borne_out(const RoughAt& at) const {
    return at.evidence >= kLeastEvidence || look_.blur_px > kBlurredPx;
  }

  /// A faint border may be anywhere up to where the blade behind ends; alike from band to band. One
  /// beside something of unknown light moves with it.
  double faint_u_mm(double down, const RoughAt& at, double ppm) const {
    constexpr double kRoomMm = 0.45, kWithRoomMm = 0.03, kShare = 0.6;
    constexpr double kUnknownShare = 0.25, kUnknownMostPx = 4.0;
    if (!at.before_paper) return 0.0;
    const double shown_px = behind_px(down, at, ppm);
    if (unknown(shown_px)) return kUnknownShare * std::min(shown_px, kUnknownMostPx) / ppm;
    if (!faint()) return 0.0;
    const double shown_mm = shown_px / ppm;
    return shown_mm > kRoomMm ? kWithRoomMm : kWithRoomMm + kShare * shown_mm;
  }

  struct Ends {
    double left_mm = 0.0, right_mm = 0.0;
  };

  /// Where the two sides lead to at the edge, from rows at these depths: those close to it may
  /// follow the blade behind.
  Ends ends_at_edge(double from_mm, double to_mm) const {
    constexpr std::size_t kLeastRows = 8;
    std::vector<Eigen::Vector2d> left, right;
    for (const RoughRow& row : section_.rows) {
      const double depth = row.down_mm - edge_mm_;
      if (!row.before_paper || depth < from_mm || depth > to_mm) continue;
      left.emplace_back(depth, row.left_mm);
      right.emplace_back(depth, row.right_mm);
    }
    const auto at_edge = [](const std::vector<Eigen::Vector2d>& side) {
      const LineFit line = fit_line_robust(side);
      return line.centre.y() - line.centre.x() * std::tan(line.direction_rad);
    };
    if (left.size() >= kLeastRows) return {at_edge(left), at_edge(right)};
    const auto at = rough_.at(edge_mm_ + 0.3);
    if (!at) throw Error("the edge is not seen", "bring the edge into the card's cut-out");
    return {at->left_mm, at->right_mm};
  }

  /// How far below the rough edge the end face begins, when the land behind shows above it: there
  /// the light along the section's middle stops being the end face's.
  double land_above_mm(const Ends& ends) const {
    constexpr double kFarMm = 3.0, kShare = 0.12, kLeastMm = 0.15;
    const double width = ends.left_mm - ends.right_mm;
    const double middle = 0.5 * (ends.left_mm + ends.right_mm);
    const double ppm = plane_.px_per_mm({middle, edge_mm_});
    const Samples samples = profile_down(middle, kWithinShare * width, -0.2,
                                         std::min(kFarMm, rough_.last_mm() - edge_mm_), ppm);
    if (samples.size() < 30) return 0.0;
    std::vector<double> deepest;
    for (std::size_t i = samples.size() - samples.size() / 3; i < samples.size(); ++i) {
      deepest.push_back(samples[i].value);
    }
    const double own = median(deepest);
    const double tolerance = kShare * std::abs(look_.paper - look_.steel);
    constexpr std::size_t kRun = 8;  // Quarter pixels.
    for (std::size_t i = samples.size() - kRun; i > 0; --i) {
      double mean = 0.0;
      for (std::size_t k = i; k < i + kRun; ++k) mean += samples[k].value / kRun;
      if (std::abs(mean - own) < tolerance) continue;
      const double below = samples[i + kRun / 2].t_px / ppm;
      return below > kLeastMm ? below : 0.0;
    }
    return 0.0;
  }

  /// Only to a camera above the edge; a thin one is not told from the edge's blur.
  bool land_may_show_above(const Ends& ends) const {
    constexpr double kSpareMm = 1.0;
    const double ppm = plane_.px_per_mm({0.5 * (ends.left_mm + ends.right_mm), edge_mm_});
    return plane_.foot_mm().y() < edge_mm_ + kSpareMm &&
           (ends.left_mm - ends.right_mm) * ppm > kWidePx;
  }

  Samples profile_down(double middle_mm, double half_mm, double low_mm, double high_mm,
                       double ppm) const {
    const Band band{.middle_mm = {middle_mm, edge_mm_},
                    .along_y = false,
                    .half_width_mm = half_mm,
                    .low_mm = low_mm,
                    .high_mm = high_mm};
    return band_profile(patch_, plane_, band, ppm);
  }

  void find_edge(Outline& outline) {
    constexpr double kAboveMm = 0.9, kBelowMm = 0.9;
    constexpr double kReachMm = 0.7, kFromAboveMm = 0.25;  // From the rough edge.
    const Ends from_below = ends_at_edge(1.5, 6.0);
    const bool land_may_show = land_may_show_above(from_below);
    if (land_may_show) {
      const double below = land_above_mm(from_below);
      if (!far_border_runs_on(section_.far_mm, edge_mm_ + below, below)) edge_mm_ += below;
    }
    const Ends ends = ends_at_edge(0.6, 3.0);
    const double middle = 0.5 * (ends.left_mm + ends.right_mm);
    const double width = ends.left_mm - ends.right_mm;
    const double ppm = plane_.px_per_mm({middle, edge_mm_});
    // Inside of a land wide enough to have an inside; else all that the sides open to.
    const double opening = 0.1 + (3.0 * look_.blur_px + 2.0) / ppm;
    const double half = width * ppm > kWidePx ? kWithinShare * width : 0.5 * width + opening;
    const Samples samples = profile_down(middle, half, -kAboveMm, kBelowMm, ppm);
    // Seen from above, the land behind goes on above the edge, and its faint end is no edge.
    const double reach_mm = plane_.foot_mm().y() < edge_mm_ ? kFromAboveMm : kReachMm;
    const std::optional<EdgeEnd> end =
        find_edge_end(samples, look_.blur_px, reach_mm * ppm, land_may_show);
    outline.edge_down_mm = end ? edge_mm_ + end->at_px / ppm : edge_mm_;
    outline.u_edge_down_mm = end ? end->u_px / ppm : 1.0 / ppm;
    outline.above_edge_mm = end ? end->above_px / ppm : 0.0;
    edge_mm_ = outline.edge_down_mm;
    outline.edge_y_mm = middle;
  }

  double coverage(const Outline& outline) const {
    double last = outline.edge_down_mm, seen = 0.0;
    for (const RoughRow& row : section_.rows) {
      if (row.before_paper) last = std::max(last, row.down_mm);
    }
    for (const OutlinePoint& point : outline.points) {
      if (point.before_paper) seen += 2.0 * point.half_band_mm;
    }
    return seen / std::max(last - outline.edge_down_mm, 1e-6);
  }

  double clipped_share() const {
    int all = 0, clipped = 0;
    for (const RoughRow& row : section_.rows) {
      if (!row.before_paper) continue;
      ++all;
      if (row.paper >= patch_.clip) ++clipped;
    }
    return all == 0 ? 0.0 : static_cast<double>(clipped) / all;
  }

  const Patch& patch_;
  const SectionPlane& plane_;
  const RoughSection& section_;
  RoughCourse rough_;
  Look look_;
  int toward_near_ = 1;
  double edge_mm_ = 0.0, last_learnt_ = 0.0, best_softness_ = 0.3;
};

}  // namespace

Outline read_outline(const Patch& patch, const SectionPlane& plane, const RoughSection& rough) {
  return Reader(patch, plane, rough).read();
}

}  // namespace evenbevel::choil
