#include "refusals.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>

#include "evenbevel/error.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kLowestEdgeMm = 2.0, kHighestEdgeMm = 10.0;  // Set-up, above the card.
constexpr double kMostDisagreement = 0.02;

std::string percent(double share) {
  return std::to_string(static_cast<int>(std::lround(100.0 * share))) + " %";
}

InUnits usual_height() { return length_words(kLowestEdgeMm, " to ", kHighestEdgeMm, 0); }

void require_good_light(double white) {
  constexpr double kWhite = 0.95, kDark = 0.02;
  if (white > kWhite) {
    throw Error("no blade was found, and the photo is over-exposed: the card's paper is pure white",
                "turn the exposure down or move the light, and take the photo again");
  }
  if (white < kDark) {
    throw Error("no blade was found, and the photo is under-exposed: the card's paper has only " +
                    std::to_string(100.0 * white).substr(0, 3) +
                    " % of the light that the camera can take",
                "give it more light or turn the exposure up, and take the photo again");
  }
}

void require_sharp(double blur_px) {
  constexpr double kSoftPx = 1.6;
  if (blur_px > kSoftPx) {
    throw Error("no blade was found, and the photo is blurred: the card's printed borders are " +
                    std::to_string(blur_px).substr(0, 3) + " px soft, " +
                    std::to_string(kSoftPx).substr(0, 3) + " px or less is needed to find it",
                "hold the phone steady or rest it on something, tap on the edge to focus, give it "
                "more light, and take the photo again");
  }
}

/// The light of all but the brightest twentieth of the lane and its surroundings.
double bright_level(const LaneImage& image) {
  std::vector<float> levels;
  for (int row = 0; row < image.grey.linear.rows; row += 4) {
    const float* light = image.grey.linear.ptr<float>(row);
    for (int column = 0; column < image.grey.linear.cols; column += 4)
      levels.push_back(light[column]);
  }
  if (levels.empty()) return 0.0;
  const auto rank = static_cast<std::ptrdiff_t>(0.95 * static_cast<double>(levels.size() - 1));
  std::nth_element(levels.begin(), levels.begin() + rank, levels.end());
  return static_cast<double>(levels[static_cast<std::size_t>(rank)]);
}

/// Width of a blade seen clearly between these, in the reference plane.
std::optional<double> blade_width_mm(const Search& search, double low_mm, double high_mm) {
  constexpr double kClearly = 0.7;
  constexpr double kLeastSupportMm = 25.0;
  FlatsSearch other = search.flats;
  other.width_low_mm = low_mm;
  other.width_high_mm = high_mm;
  other.width_usual_u_mm = 0.0;
  const std::vector<Located> places =
      locate(search.image, search.on_lane, search.stretch_mm, other, kLeastSupportMm);
  const std::optional<Blade> blade =
      find_blade(search.image, places, search.stretch_mm, search.settings,
                 search.look ? std::optional(search.look->blur_px) : std::nullopt);
  // A gap between jaws may pass for a ricasso: no grounds to doubt the thickness.
  if (!blade || blade->inner.stage == Stage::bevelled || blade->score < kClearly) {
    return std::nullopt;
  }
  const FlatsPair& flats = blade->at.flats;
  return flats.width_mm(0.5 * (flats.s_begin_mm + flats.s_end_mm));
}

struct Slip {
  double factor;
  const char* words;
};
constexpr std::array<Slip, 6> kSlips = {
    {{25.4, "the number was probably in inches: write the unit with it, for example 0.125in"},
     {1.0 / 25.4,
      "the number was probably in millimetres, not inches: write the unit with it, for example "
      "3.2mm"},
     {0.0254,
      "the number was probably in thousandths of an inch: write the unit with it, for example "
      "100thou"},
     {1.0 / 0.0254,
      "the number was probably in millimetres, not thou: write the unit with it, for example "
      "3.2mm"},
     {10.0, "the decimal point has probably slipped: measure the stock again"},
     {0.1, "the decimal point has probably slipped: measure the stock again"}}};

[[noreturn]] void fail_with_slip(double given_mm, const Slip& slip) {
  throw Error("the thickness given, " + length_words(given_mm, 3) +
                  ", does not fit the blade in the photo, but " +
                  length_words(given_mm * slip.factor, 2) + " would",
              slip.words);
}

[[noreturn]] void fail_in_scale(double given_mm, double by_card_mm, const InUnits& at_height) {
  throw Error("the thickness given, " + length_words(given_mm, 3) +
                  ", and the card's scale disagree by " +
                  percent(std::abs(given_mm / by_card_mm - 1.0)) + ": by the card the blade is " +
                  length_words(by_card_mm, 2) + " thick" + at_height,
              "measure the stock again and mind the unit; check the card's printed bar with "
              "calipers (--printed-bar) and that the card lies flat on the jaws");
}

[[noreturn]] void fail_with_other_width(double given_mm, double by_card_mm) {
  throw Error("no blade of the thickness given, " + length_words(given_mm, 3) +
                  ", was found: what looks most like one is " + length_words(by_card_mm, 2) +
                  " wide by the card",
              "measure the stock again and mind the unit; if it is right, those are not the flats' "
              "rims: light both flats so that their rims show, and name the stage with --shows");
}

struct Colour {
  double b, g, r;
};

/// Linear light of one pixel of a colour picture, by a power of 2.2.
Colour light_at(const cv::Mat& pixels, const cv::Point& q) {
  const auto light = [](double code) { return std::pow(code, 2.2); };
  if (pixels.depth() == CV_16U) {
    const auto& c = pixels.at<cv::Vec3w>(q);
    return {light(c[0] / 65535.0), light(c[1] / 65535.0), light(c[2] / 65535.0)};
  }
  const auto& c = pixels.at<cv::Vec3b>(q);
  return {light(c[0] / 255.0), light(c[1] / 255.0), light(c[2] / 255.0)};
}

/// The lane is sRGB (0, 110, 60): linear green is 3.5 times blue, red next to nothing.
bool lane_green(const Colour& c) { return c.g > 2.5 * c.r && c.g > 1.6 * c.b && c.g > 0.004; }

[[noreturn]] void fail_blank() {
  throw Error("no blade with scribe lines or a ground edge was found in the card's lane",
              "clamp the blade edge up, drop the card over it so that " +
                  length_words(kLowestEdgeMm, "-", kHighestEdgeMm, 0) +
                  " of the edge stands out of the slot, and light it so that its rims, lines and "
                  "plunge lines show; if they do "
                  "show, name the stage with --shows");
}

[[noreturn]] void fail_without_land() {
  throw Error(
      "borders as far apart as the flats show, but between them neither two scribed lines nor a "
      "ground edge that ends in plunge lines",
      "take the photo so that the plunge lines are in it, and light both faces alike (a sheet of "
      "white paper beside the darker jaw does it); if what lies between does show, name it with "
      "--shows");
}

bool fits(double width_mm, double thickness_mm) {
  constexpr double kNarrower = 0.96, kWider = 1.07;  // Below and above the reference plane.
  return width_mm > kNarrower * thickness_mm && width_mm < kWider * thickness_mm;
}

}  // namespace

void fail_without_blade(const Search& search) {
  constexpr double kThinnestMm = 0.8, kThickestMm = 6.0;
  // No printer and no slope of the card is that far off (common practice, no source).
  constexpr double kMostOfScale = 0.15;
  const double given_mm = search.settings.thickness_mm;
  require_good_light(search.look ? search.look->white : bright_level(search.image));
  if (search.look) require_sharp(search.look->blur_px);
  if (const auto width_mm = blade_width_mm(search, kThinnestMm, kThickestMm)) {
    for (const Slip& slip : kSlips) {
      if (fits(*width_mm, given_mm * slip.factor)) fail_with_slip(given_mm, slip);
    }
    if (fits(*width_mm, given_mm)) fail_without_land();
    if (std::abs(*width_mm / given_mm - 1.0) > kMostOfScale)
      fail_with_other_width(given_mm, *width_mm);
    fail_in_scale(given_mm, *width_mm, "");
  }
  for (const Slip& slip : kSlips) {
    const double meant_mm = given_mm * slip.factor;
    if (meant_mm < kThinnestMm || meant_mm > kThickestMm) continue;
    if (blade_width_mm(search, 0.975 * meant_mm, 1.06 * meant_mm)) fail_with_slip(given_mm, slip);
  }
  fail_blank();
}

void require_not_blurred(const CardLook& look) {
  if (look.blur_px <= kMostBlurPx) return;
  throw Error("the photo is blurred: printed borders are " +
                  std::to_string(look.blur_px).substr(0, 4) + " px soft, " +
                  std::to_string(kMostBlurPx).substr(0, 3) + " px is the most that can be used",
              "hold the phone steady or rest it on something, tap on the edge to focus, give it "
              "more light, and take the photo again");
}

void require_no_bare_lane(const cv::Mat& pixels, const Located& at, const InnerTrace& trace) {
  if (pixels.channels() != 3) return;
  constexpr double kAlongMm = 2.0, kMostGreen = 0.5;
  const cv::Rect inside({}, pixels.size());
  int all = 0, green = 0;
  for (int cut = 0; trace.s_begin_mm() + cut * kAlongMm <= trace.s_end_mm(); ++cut) {
    const double s = trace.s_begin_mm() + cut * kAlongMm;
    for (int tenths = -4; tenths <= 4; ++tenths) {
      const double t = at.flats.mid_mm(s) + 0.1 * tenths * at.flats.width_mm(s);
      const Eigen::Vector2d q_px = at.frame.pixel(s, t);
      const cv::Point q(static_cast<int>(std::lround(q_px.x())),
                        static_cast<int>(std::lround(q_px.y())));
      if (!inside.contains(q)) continue;
      ++all;
      if (lane_green(light_at(pixels, q))) ++green;
    }
  }
  if (green > kMostGreen * all) fail_blank();
}

void require_exposed(const std::vector<BandReadings>& bands) {
  constexpr double kMostClipped = 0.85;
  const double clipped = mean_clipped_share(bands);
  if (clipped <= kMostClipped) return;
  throw Error(percent(clipped) + " of the edge is over-exposed (pure white), " +
                  percent(kMostClipped) + " is the most that can be measured",
              "turn the exposure down or move the light, so that no part of the edge is pure "
              "white, and take the photo again");
}

void require_agreement(const Metric& metric, double camera_height_mm,
                       const EdgeSettings& settings) {
  constexpr double kSure = 2.0;  // Standard uncertainties.
  const double found_mm = metric.found_height_mm;
  const double expected_mm = settings.edge_height_mm
                                 ? *settings.edge_height_mm
                                 : std::clamp(found_mm, kLowestEdgeMm, kHighestEdgeMm);
  const double ratio = (camera_height_mm - expected_mm) / (camera_height_mm - found_mm);
  const double u_ratio = metric.found_height_u_mm / camera_height_mm;
  const double least = settings.edge_height_mm ? kMostDisagreement : 0.0;
  if (std::abs(ratio - 1.0) <= std::max(least, kSure * u_ratio)) return;
  fail_in_scale(settings.thickness_mm, settings.thickness_mm * ratio,
                " with its edge " + length_words(expected_mm, 1) + " above the card" +
                    (settings.edge_height_mm ? "" : " (" + usual_height() + " is usual)"));
}

void fail_with_tip(Tip given) {
  const std::string side = given == Tip::left ? "left" : "right";
  throw Error("--tip says that the tip points " + side +
                  " on the upright card, but the ricasso seems to lie on that side",
              "hold the card upright, its text readable, and see where the tip points; if --tip is "
              "right, light the ricasso and the plunge lines so that they stand out from the jaws, "
              "and take the photo again");
}

void fail_without_tip(double offset_mm) {
  throw Error("nothing in the photo tells where the tip points: the middle lies " +
                  length_words(std::abs(offset_mm), 3) + " toward the " +
                  (offset_mm > 0.0 ? "left" : "right") +
                  " face if the tip points right on the upright card, and as far toward the " +
                  (offset_mm > 0.0 ? "right" : "left") + " face if it points left",
              "give --tip right or --tip left");
}

void require_usual_height(const Metric& metric, const EdgeSettings& settings) {
  if (settings.edge_height_mm || settings.seen) return;
  const double u = metric.found_height_u_mm;
  if (metric.found_height_mm > kLowestEdgeMm - u && metric.found_height_mm < kHighestEdgeMm + u)
    return;
  throw Error(
      "the borders found are " +
          std::string(metric.found_height_mm > kHighestEdgeMm ? "too far apart"
                                                              : "too close together") +
          " for the thickness given: they would put the edge " +
          length_words(metric.found_height_mm, 1) + " above the card (" + usual_height() +
          " is usual), so that one of them is probably not a flat's rim",
      "measure the stock again; check that the card lies flat on the jaws and its printed bar with "
      "calipers "
      "(--printed-bar); light the flats' rims so that they stand out; or give --edge-height if the "
      "edge does stand there");
}

void require_both_borders(const std::vector<BandReadings>& bands, Stage stage) {
  constexpr double kStandsOut = 5.0;   // Standard uncertainties, over a few mm.
  constexpr double kLeastShare = 0.3;  // Of the stations.
  double low = 0.0, high = 0.0, all = 0.0;
  for (const BandReadings& band : bands) {
    if (!band.inner_low) continue;
    all += 1.0;
    if (band.inner_sigmas[0] > kStandsOut) low += 1.0;
    if (band.inner_sigmas[1] > kStandsOut) high += 1.0;
  }
  if (std::min(low, high) >= kLeastShare * all) return;
  throw Error(std::string("one of the two ") +
                  (stage == Stage::scribed ? "scribe lines" : "borders of the land") +
                  " hardly stands out of the surface beside it",
              "light the edge from the other side too: a sheet of white paper beside the darker "
              "jaw does it");
}

void require_clear_photo(const std::optional<CardLook>& look, double clipped_share) {
  constexpr double kMuchClipped = 0.15, kSoftPx = 1.6, kDarkWhite = 0.3;
  if (clipped_share > kMuchClipped) {
    throw Error(percent(clipped_share) +
                    " of the edge is over-exposed (pure white), and its borders are not clear",
                "turn the exposure down or move the light, so that no part of the edge is pure "
                "white, and take the photo again");
  }
  if (!look) {
    throw Error(
        "the photo is blurred or under-exposed: the card's printed borders beside the lane "
        "cannot be read",
        "hold the phone steady or rest it on something, tap on the edge to focus, give it "
        "more light, and take the photo again");
  }
  if (look->blur_px > kSoftPx) {
    throw Error("the photo is blurred: printed borders are " +
                    std::to_string(look->blur_px).substr(0, 3) +
                    " px soft, and the edge's are not clear",
                "hold the phone steady or rest it on something, tap on the edge to focus, give it "
                "more light, and take the photo again");
  }
  if (look->white < kDarkWhite) {
    throw Error("the photo is under-exposed: the card's paper has only " + percent(look->white) +
                    " of the light that the camera can take, and the edge's borders are not clear",
                "give it more light or turn the exposure up, and take the photo again");
  }
}

void require_ricasso(bool hidden, const std::optional<CardLook>& look, double clipped_share) {
  if (!hidden) return;
  require_clear_photo(look, clipped_share);
  if (look && look->white > linear_light(kClipEncoded)) {
    throw Error(
        "the rims of the ricasso do not show, and the photo is over-exposed: the card's "
        "paper is pure white",
        "turn the exposure down or move the light, so that no part of the ricasso is pure "
        "white, and take the photo again");
  }
  throw Error(
      "the ricasso is in the picture, but the rims of its flats do not show, and without them full "
      "bevels pass for a ground edge",
      "light the ricasso so that its rims stand out from the jaws and nothing of it is pure white, "
      "and take the photo again; or give --shows ground");
}

void require_plunges(const PlungeLines& plunges, Stage stage, const std::optional<CardLook>& look,
                     double clipped_share) {
  if (plunges.high && plunges.low) return;
  require_clear_photo(look, clipped_share);
  if (stage == Stage::bevelled) {
    throw Error(
        "the plunge lines do not both show, and without them a jaw's shade on full bevels passes "
        "for "
        "a border of the land",
        "take the photo so that both plunge lines and the ricasso are in the picture, and light "
        "them from the side");
  }
  throw Error(
      "the plunge lines do not both show, and without them full bevels pass for a ground edge",
      "if the edge is ground and the bevels are not, give --shows ground; or take the photo so "
      "that "
      "both plunge lines are in the picture, and light them from the side");
}

void require_two_borders(double third_border_share, const std::optional<CardLook>& look,
                         double clipped_share) {
  constexpr double kMostShare = 0.3;
  if (third_border_share < kMostShare) return;
  require_clear_photo(look, clipped_share);
  throw Error(
      "three borders show where the land has two: one of them is a shade, a streak or a burr's, "
      "and "
      "the photo does not say which",
      "wipe the edge and take its burr off, light both facets alike (a sheet of white paper beside "
      "the darker jaw does it), and take the photo again");
}

void require_at_dye(double off_mm, double px_per_mm) {
  // Colour is kept at half the picture's resolution; seven dyed lands under lamps, read right, lay
  // within 0.2 px of their dye.
  constexpr double kMostPx = 1.0;
  if (std::abs(off_mm) * px_per_mm < kMostPx) return;
  throw Error("what looks most like the land lies " + length_words(std::abs(off_mm), 2) +
                  " beside the dye on it: a bright streak on a facet passes for the land",
              "light both facets alike (a sheet of white paper beside the darker jaw does it), and "
              "take the photo again");
}

bool steady_borders(const Metric& metric, Stage stage) {
  // Full bevels fade from light to dark: borders that are none lie near, and wander.
  const double most_px = stage == Stage::bevelled ? 0.25 : 0.5;
  return metric.inner_scatter_px.maxCoeff() < most_px;
}

void require_steady_borders(const Metric& metric, Stage stage) {
  if (steady_borders(metric, stage)) return;
  throw Error("one border of the land could not be followed: from place to place it scatters by " +
                  std::to_string(metric.inner_scatter_px.maxCoeff()).substr(0, 3) + " px",
              "light the edge from the other side too: a sheet of white paper beside the darker "
              "jaw does it; "
              "wipe burr and dust off");
}

void fail_with_rims(const std::optional<CardLook>& look) {
  require_clear_photo(look, 0.0);
  throw Error(
      "the rims of the flats cannot be told from what lies beside them",
      "light both flats so that their rims stand out from the jaws (a sheet of white paper "
      "beside the darker jaw does it), move the camera straight over the edge, and take the "
      "photo again");
}

bool plausible(const EdgeResult& result, const EdgeSettings& settings) {
  // Without a card there is less to tell borders by, and lines of a drawing pass for a blade's.
  const double most_share = settings.card ? 0.12 : 0.10;
  if (!result.centreline_offset_worst_mm) return true;
  return std::abs(result.centreline_offset_worst_mm->value) <= most_share * settings.thickness_mm;
}

bool enough_stations(const EdgeResult& result) {
  constexpr double kLeastCoverage = 0.25;
  constexpr std::size_t kLeast = 5;
  return result.coverage >= kLeastCoverage && result.stations.size() >= kLeast;
}

void require_enough_stations(const EdgeResult& result) {
  if (enough_stations(result)) return;
  throw Error("the edge could be measured at too few places: " +
                  std::to_string(static_cast<int>(100 * result.coverage)) +
                  " % of the stations, 25 % are needed",
              "light the edge evenly from both sides and take the photo again");
}

void require_plausible(const EdgeResult& result, const EdgeSettings& settings) {
  if (plausible(result, settings)) return;
  throw Error("the borders found would put the edge " +
                  length_words(std::abs(result.centreline_offset_worst_mm->value), 2) +
                  " off the middle, so far that they are probably not the blade's",
              "check --thickness and --shows, light the flats' rims so that they stand out from "
              "the jaws, and take the photo again");
}

}  // namespace evenbevel::edge
