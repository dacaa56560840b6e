#include <algorithm>
#include <cmath>
#include <string>

#include "evenbevel/lamp_ticks.hpp"
#include "evenbevel/units.hpp"
#include "summary.hpp"

namespace evenbevel::finish {
namespace {

double percent(double share) { return std::round(100.0 * share); }

/// Where a lamp stands that shines across a direction, seen from the blade.
std::string lamp_place_words(double direction_rad) {
  const double azimuth = axis_of(direction_rad + 0.5 * kPi);
  constexpr double kNear = 22.5 * kPi / 180.0;
  if (between_axes(azimuth, 0.0) < kNear) return "beyond the tip or the handle";
  if (between_axes(azimuth, 0.5 * kPi) < kNear) return "beyond the spine or the edge";
  return azimuth < 0.5 * kPi ? "slantwise, between tip and spine"
                             : "slantwise, between handle and spine";
}

/// The card's tick from which a lamp shines across a direction on the blade.
LampTick tick_across(double direction_rad, const LyingFace& lying) {
  const double azimuth = direction_rad + 0.5 * kPi + lying.reading.axes.turn_rad;
  const side::FacePlane& plane = lying.reading.plane;
  const Eigen::Vector2d toward =
      plane.card({std::cos(azimuth), std::sin(azimuth)}) - plane.card({0.0, 0.0});
  return lamp_tick_on_axis(std::atan2(toward.y(), toward.x()));
}

void add_lamps(const FinishFaceResult& face, const LyingFace& lying, const std::string& where,
               FinishResult& result) {
  for (const LampLook& lamp : face.lamps) {
    if (!lamp.azimuth_rad) {
      result.warnings.push_back(remark<RemarkCode::finish_lamp_unknown>(lamp.photo));
      result.advice.push_back(remark<RemarkCode::finish_use_one_lamp>());
    }
    if (lamp.saw == 0 && !face.scratches.empty()) {
      result.warnings.push_back(remark<RemarkCode::finish_lamp_saw_nothing>(
          lamp.photo, static_cast<double>(face.scratches.size()), where));
    }
  }
  for (const DirectionRange& range : face.blind) {
    result.warnings.push_back(remark<RemarkCode::finish_blind>(
        where, degrees(range.from_rad), std::fmod(degrees(range.to_rad), 180.0)));
    const double middle = 0.5 * (range.from_rad + range.to_rad);
    const LampTick tick = tick_across(middle, lying);
    result.advice.push_back(remark<RemarkCode::finish_move_lamp>(where, lamp_place_words(middle),
                                                                 static_cast<double>(tick.number),
                                                                 std::string(tick.where)));
  }
}

void add_light(const FinishFaceResult& face, const std::string& where, FinishResult& result) {
  constexpr double kMuch = 0.25, kSoftPx = 2.2;
  for (const LampLook& lamp : face.lamps) {
    if (lamp.blown_share > kMuch)
      result.warnings.push_back(
          remark<RemarkCode::finish_blown>(lamp.photo, percent(lamp.blown_share), where));
    if (lamp.dark_share > kMuch)
      result.warnings.push_back(
          remark<RemarkCode::finish_dark>(lamp.photo, percent(lamp.dark_share), where));
    if (lamp.blur_px > kSoftPx)
      result.warnings.push_back(remark<RemarkCode::photo_soft>(lamp.blur_px));
  }
}

}  // namespace

void add_remarks(const FinishFaceResult& face, const LyingFace& lying,
                 const FinishSettings& settings, FinishResult& result) {
  const std::string where(name(face.face));
  if (!settings.thickness_mm)
    result.warnings.push_back(remark<RemarkCode::finish_thickness_assumed>());
  add_lamps(face, lying, where, result);
  add_light(face, where, result);
  constexpr double kMostOfIt = 0.7;
  if (face.judged_share < kMostOfIt)
    result.warnings.push_back(
        remark<RemarkCode::finish_part_judged>(percent(face.judged_share), where));
  if (lying.reading.plane.camera().guessed)
    result.warnings.push_back(remark<RemarkCode::face_lens_assumed>(where));
}

}  // namespace evenbevel::finish
