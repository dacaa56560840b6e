#pragma once

#include <array>
#include <cmath>
#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <type_traits>
#include <variant>
#include <vector>

#include "evenbevel/units.hpp"

namespace evenbevel {

// What a measurement has to tell its maker beside the numbers: warnings, advice on the photo, and
// what to do with the blade. It tells a code with its values; the words are made where they are
// shown, in the unit that is asked for. Its sentence stands in src/words/sentences.cpp.

enum class RemarkCode {
  as_written,  ///< A sentence of a report of schema 1, which had no codes.
  what_to_do,  ///< With the blade: a sentence of an earlier report, whose advice had no values.
  next_photo,  ///< As what_to_do, of the photo.
  // The photo and its lens.
  frames_left_out,
  source_ended,
  picture_not_turned,
  focal_length_absurd,
  first_page_only,
  lens_centre_moved,
  lens_longer,
  lens_shorter,
  lens_centre_moved_and_longer,
  lens_centre_moved_and_shorter,
  card_bent,
  camera_not_told,
  camera_unknown,
  camera_unnamed,
  // Edge view.
  edge_over_exposed,
  expose_edge_less,
  photo_soft,
  focus_on_edge,
  few_stations,
  move_over_edge,
  flats_end_at_plunges,
  plunges_not_clear,
  stage_doubted,
  tip_from_edge_on_card,
  tip_from_edge_in_picture,
  tip_assumed_on_card,
  tip_assumed_in_picture,
  quick_look,
  lens_assumed,
  stage_assumed,
  lay_edge_card,
  lay_edge_card_against,
  lay_edge_card_and_soften_light,
  photo_left_out,
  turn_assumed,
  // Side view.
  no_bevel_line,
  bevel_line_in_parts,
  light_for_bevel_line,
  no_plunge_line,
  face_over_exposed,
  expose_face_less,
  face_lens_assumed,
  card_not_flat,
  lay_card_flat,
  camera_aside,
  camera_over_blade,
  no_place_from_plunge,
  no_place_from_tip,
  means_from_handle_end,
  // Choil view.
  paper_over_exposed,
  expose_paper_less,
  section_soft,
  focus_on_heel,
  blade_small,
  go_closer,
  look_along_blade,
  no_flats,
  show_flats,
  section_leans,
  stand_card_upright,
  glue_card,
  heights_left_out,
  heel_border_faint,
  light_heel,
  // Study.
  reading_left_out,
  unequal_cells,
  empty_cells,
  read_once,
  interaction_not_told,
  one_part,
  wide_ranges,
  variance_negative,
  few_repeats,
  agree_on_set_up,
  steady_set_up,
  look_for_bias,
  // Calibration.
  tilt_more,
  all_lean_alike,
  one_distance,
  turn_card,
  lens_loose,
  parts_not_seen,
  one_more_photo,
  more_photos,
  large_residuals,
  distortion_held,
  // Record.
  photo_on_trust,
  // What to do with the blade, edge view.
  no_offset,
  leave_centred,
  leave_at_lines,
  leave_unresolved,
  take_off_one,
  take_off_one_to_line,
  take_off_both,
  lower_before_centring,
  centring_leaves_nothing,
  past_line_centred,
  past_line_best_centre,
  past_line_crossed,
  land_short_centred,
  land_short_off_centre,
  lines_centred,
  lines_right,
  scribe_again,
  across_and_into,
  press_at_edge,
  within_reach_of_400,
  coarser_belt,
  plunges_as_one,
  plunge_nearer_tip,
  // Side view.
  nothing_measured,
  one_face_only,
  bevels_not_compared,
  bevels_as_one,
  leave_bevels,
  grind_face,
  bevel_higher_on_average,
  plunge_leans,
  // Choil view.
  halves_not_compared,
  halves_as_one,
  leave_section,
  grind_section,
  side_convex,
  side_hollow,
  // Beside the blade in the pictures: the same in a few words, one face, one stretch.
  ribbon_leave,
  ribbon_lower_first,
  ribbon_off,
  ribbon_past,
  ribbon_to_line,
  ribbon_past_line,
  ribbon_short_of_line,
  ribbon_up,
  come_up_by,
  // Which photo to take next.
  turn_blade_next,
  stand_over_edge_next,
  come_closer_next,
  calibrate_next,
  no_photo_helps,
  check_printed_bar,
  // What to do about what the practice strip shows.
  practice_holds,
  practice_print_size,
  practice_paper_bent,
  practice_photo_soft,
  practice_offset_off,
  practice_widths_off,
  practice_plunges_off,
  // Finish view.
  finish_lamp_unknown,
  finish_use_one_lamp,
  finish_lamp_saw_nothing,
  finish_blind,
  finish_move_lamp,
  finish_blown,
  finish_dark,
  finish_part_judged,
  finish_thickness_assumed,
  finish_none_left,
  finish_more_work,
  finish_sand_next,
};

/// A number is in what its name ends in: mm, px, deg, percent. Words may hold lengths.
using RemarkValue = std::variant<double, InUnits>;

struct NamedRemarkValue {
  std::string name;
  RemarkValue value;
};

struct Remark {
  RemarkCode code = RemarkCode::as_written;
  /// Those of its kind, in that order; one that need not be there may be missing.
  std::vector<NamedRemarkValue> values = {};
};

/// What a kind of remark goes by in a file, and which values it has.
struct RemarkKind {
  static constexpr std::size_t kMostValues = 26;
  struct Value {
    std::string_view name = {};
    bool number = false;
    bool needed = true;
  };

  RemarkCode code;
  std::string_view id;
  std::array<Value, kMostValues> values = {};
  bool on_blade = false;  ///< What to do with the blade, not with the photo.

  constexpr std::size_t count() const {
    std::size_t named = 0;
    while (named < kMostValues && !values[named].name.empty()) ++named;
    return named;
  }
};

namespace words {

constexpr RemarkKind::Value text(std::string_view name) { return {name, false}; }
constexpr RemarkKind::Value number(std::string_view name) { return {name, true}; }
/// A number that the sentence does without where it is missing.
constexpr RemarkKind::Value maybe(std::string_view name) { return {name, true, false}; }

using RemarkValues = std::array<RemarkKind::Value, RemarkKind::kMostValues>;

/// One after the other.
template <std::size_t... n>
constexpr RemarkValues together(const std::array<RemarkKind::Value, n>&... parts) {
  RemarkValues all = {};
  std::size_t at = 0;
  const auto add = [&](const auto& part) {
    for (const RemarkKind::Value& value : part) all[at++] = value;
  };
  (add(parts), ...);
  return all;
}

// What several kinds have. A stretch of the blade: the whole of it where none is named.
inline constexpr std::array kStretch = {maybe("from_x_mm"), maybe("to_x_mm")};
inline constexpr std::array kOneFace = {text("face"), text("surface")};
/// Alike along a stretch (by), or from least to most.
inline constexpr std::array kAmount = {maybe("least_mm"), maybe("most_mm"), maybe("by_mm"),
                                       number("U95_mm")};
inline constexpr std::array kMostAt = {maybe("most_x_mm")};
inline constexpr std::array kIntoFacet = {maybe("into_least_mm"), maybe("into_most_mm"),
                                          maybe("into_by_mm")};
/// Of a cut that is not to a line.
inline constexpr std::array kOff = {number("off_mm"), number("off_U95_mm"), maybe("into_off_mm")};
inline constexpr std::array kGoal = {maybe("wanted_mm"), maybe("usual_mm")};
inline constexpr std::array kLandLeft = {maybe("land_mm"), maybe("land_U95_mm")};
inline constexpr std::array kLandAt = {maybe("land_x_mm")};
inline constexpr std::array kAgainstGoal = {maybe("short_mm"), maybe("spare_mm")};
inline constexpr std::array kLowering = {maybe("lower_mm"), maybe("lower_U95_mm")};
constexpr RemarkKind on_blade(RemarkCode code, std::string_view id, const RemarkValues& values) {
  return {code, id, values, true};
}

using enum RemarkCode;
/// In the order of RemarkCode.
inline constexpr std::array kKinds = {
    RemarkKind{as_written, "as_written", {text("text")}},
    on_blade(what_to_do, "what_to_do", {text("text")}),
    RemarkKind{next_photo, "next_photo", {text("text")}},
    RemarkKind{frames_left_out, "frames_left_out", {number("left_out"), number("frames")}},
    RemarkKind{source_ended, "source_ended", {number("frames"), number("asked")}},
    RemarkKind{picture_not_turned, "picture_not_turned", {number("exif_orientation")}},
    RemarkKind{focal_length_absurd, "focal_length_absurd", {number("focal_35")}},
    RemarkKind{first_page_only, "first_page_only", {number("pages")}},
    RemarkKind{lens_centre_moved, "lens_centre_moved", {number("centre_px")}},
    RemarkKind{lens_longer, "lens_longer", {number("focal_percent")}},
    RemarkKind{lens_shorter, "lens_shorter", {number("focal_percent")}},
    RemarkKind{lens_centre_moved_and_longer,
               "lens_centre_moved_and_longer",
               {number("centre_px"), number("focal_percent")}},
    RemarkKind{lens_centre_moved_and_shorter,
               "lens_centre_moved_and_shorter",
               {number("centre_px"), number("focal_percent")}},
    RemarkKind{card_bent, "card_bent", {number("bend_mm")}},
    RemarkKind{camera_not_told, "camera_not_told", {text("file")}},
    RemarkKind{camera_unknown, "camera_unknown", {text("camera")}},
    RemarkKind{camera_unnamed, "camera_unnamed"},
    RemarkKind{edge_over_exposed, "edge_over_exposed", {number("percent")}},
    RemarkKind{expose_edge_less, "expose_edge_less"},
    RemarkKind{photo_soft, "photo_soft", {number("blur_px")}},
    RemarkKind{focus_on_edge, "focus_on_edge"},
    RemarkKind{few_stations, "few_stations", {number("percent")}},
    RemarkKind{move_over_edge, "move_over_edge", {text("face")}},
    RemarkKind{flats_end_at_plunges, "flats_end_at_plunges"},
    RemarkKind{plunges_not_clear, "plunges_not_clear"},
    RemarkKind{stage_doubted, "stage_doubted"},
    RemarkKind{tip_from_edge_on_card, "tip_from_edge_on_card", {text("tip")}},
    RemarkKind{tip_from_edge_in_picture, "tip_from_edge_in_picture", {text("tip")}},
    RemarkKind{tip_assumed_on_card, "tip_assumed_on_card", {text("tip")}},
    RemarkKind{tip_assumed_in_picture, "tip_assumed_in_picture", {text("tip")}},
    RemarkKind{quick_look, "quick_look"},
    RemarkKind{lens_assumed, "lens_assumed"},
    RemarkKind{stage_assumed, "stage_assumed", {text("stage")}},
    RemarkKind{lay_edge_card, "lay_edge_card"},
    RemarkKind{lay_edge_card_against, "lay_edge_card_against", {text("cause")}},
    RemarkKind{lay_edge_card_and_soften_light, "lay_edge_card_and_soften_light", {text("cause")}},
    RemarkKind{photo_left_out, "photo_left_out", {text("reason")}},
    RemarkKind{turn_assumed, "turn_assumed"},
    RemarkKind{no_bevel_line, "no_bevel_line", {text("face")}},
    RemarkKind{bevel_line_in_parts, "bevel_line_in_parts", {text("face"), number("percent")}},
    RemarkKind{light_for_bevel_line, "light_for_bevel_line", {text("face")}},
    RemarkKind{no_plunge_line, "no_plunge_line", {text("face")}},
    RemarkKind{face_over_exposed, "face_over_exposed", {number("percent"), text("face")}},
    RemarkKind{expose_face_less, "expose_face_less", {text("face")}},
    RemarkKind{face_lens_assumed, "face_lens_assumed", {text("face")}},
    RemarkKind{card_not_flat, "card_not_flat", {text("face")}},
    RemarkKind{lay_card_flat, "lay_card_flat"},
    RemarkKind{camera_aside, "camera_aside", {text("face")}},
    RemarkKind{camera_over_blade, "camera_over_blade"},
    RemarkKind{no_place_from_plunge, "no_place_from_plunge"},
    RemarkKind{no_place_from_tip, "no_place_from_tip"},
    RemarkKind{means_from_handle_end, "means_from_handle_end"},
    RemarkKind{paper_over_exposed, "paper_over_exposed", {number("percent")}},
    RemarkKind{expose_paper_less, "expose_paper_less"},
    RemarkKind{section_soft, "section_soft", {number("blur_px")}},
    RemarkKind{focus_on_heel, "focus_on_heel"},
    RemarkKind{blade_small, "blade_small", {number("px_per_mm")}},
    RemarkKind{go_closer, "go_closer"},
    RemarkKind{look_along_blade, "look_along_blade", {text("face")}},
    RemarkKind{no_flats, "no_flats"},
    RemarkKind{show_flats, "show_flats"},
    RemarkKind{section_leans, "section_leans", {number("lean_deg")}},
    RemarkKind{stand_card_upright, "stand_card_upright"},
    RemarkKind{glue_card, "glue_card"},
    RemarkKind{heights_left_out, "heights_left_out", {number("heights")}},
    RemarkKind{heel_border_faint, "heel_border_faint"},
    RemarkKind{light_heel, "light_heel"},
    RemarkKind{reading_left_out, "reading_left_out", {text("file"), text("reason")}},
    RemarkKind{unequal_cells, "unequal_cells", {number("fewest"), number("most")}},
    RemarkKind{empty_cells, "empty_cells", {number("fewest"), number("most"), text("cells")}},
    RemarkKind{read_once, "read_once"},
    RemarkKind{interaction_not_told, "interaction_not_told"},
    RemarkKind{one_part, "one_part"},
    RemarkKind{wide_ranges, "wide_ranges", {text("cells")}},
    RemarkKind{variance_negative, "variance_negative", {text("spreads")}},
    RemarkKind{few_repeats, "few_repeats", {number("dof")}},
    RemarkKind{agree_on_set_up, "agree_on_set_up"},
    RemarkKind{steady_set_up, "steady_set_up"},
    RemarkKind{look_for_bias, "look_for_bias"},
    RemarkKind{tilt_more,
               "tilt_more",
               {number("steep"), number("photos"), number("least_deg"), number("steepest_deg")}},
    RemarkKind{all_lean_alike, "all_lean_alike"},
    RemarkKind{one_distance, "one_distance", {number("nearest_mm"), number("farthest_mm")}},
    RemarkKind{turn_card, "turn_card"},
    RemarkKind{lens_loose, "lens_loose", {text("part"), number("u_px")}},
    RemarkKind{parts_not_seen, "parts_not_seen", {text("parts")}},
    RemarkKind{one_more_photo, "one_more_photo", {number("used"), number("wanted")}},
    RemarkKind{more_photos, "more_photos", {number("more"), number("used"), number("wanted")}},
    RemarkKind{large_residuals, "large_residuals", {number("rms_px")}},
    RemarkKind{distortion_held, "distortion_held", {text("parameter")}},
    RemarkKind{photo_on_trust, "photo_on_trust", {text("photo")}},
    on_blade(no_offset, "no_offset", {}),
    on_blade(leave_centred, "leave_centred",
             together(kStretch, std::array{number("tolerance_mm"), number("U95_mm")})),
    on_blade(leave_at_lines, "leave_at_lines", together(kStretch, std::array{number("U95_mm")})),
    on_blade(leave_unresolved, "leave_unresolved",
             together(kStretch, std::array{number("U95_mm")})),
    on_blade(take_off_one, "take_off_one",
             together(kStretch, kOneFace, kAmount, kMostAt, kIntoFacet, kLandLeft, kLandAt, kGoal,
                      kAgainstGoal, kLowering)),
    on_blade(take_off_one_to_line, "take_off_one_to_line",
             together(kStretch, kOneFace, kAmount, kMostAt, kIntoFacet, kLandLeft, kLandAt, kGoal,
                      kAgainstGoal, kLowering)),
    on_blade(
        take_off_both, "take_off_both",
        together(
            kStretch,
            std::array{text("surface"), maybe("left_least_mm"), maybe("left_most_mm"),
                       maybe("left_by_mm"), number("left_U95_mm"), maybe("left_most_x_mm"),
                       maybe("left_into_least_mm"), maybe("left_into_most_mm"),
                       maybe("left_into_by_mm"), maybe("right_least_mm"), maybe("right_most_mm"),
                       maybe("right_by_mm"), number("right_U95_mm"), maybe("right_most_x_mm"),
                       maybe("right_into_least_mm"), maybe("right_into_most_mm"),
                       maybe("right_into_by_mm"), number("wanted_mm")})),
    on_blade(lower_before_centring, "lower_before_centring",
             together(kStretch, kOneFace, kAmount, kMostAt, kIntoFacet,
                      std::array{number("land_mm"), number("land_U95_mm")}, kGoal,
                      std::array{number("lower_mm"), number("lower_U95_mm")})),
    on_blade(centring_leaves_nothing, "centring_leaves_nothing",
             together(kStretch, kOneFace, kAmount, kMostAt,
                      std::array{number("land_mm"), number("land_U95_mm")})),
    on_blade(past_line_centred, "past_line_centred",
             together(kStretch, kOneFace, kAmount, kMostAt, kLandLeft, kLandAt, kGoal, kAgainstGoal,
                      kLowering)),
    on_blade(past_line_best_centre, "past_line_best_centre",
             together(kStretch, kOneFace, kAmount, kMostAt, kOff, kLandLeft, kLandAt, kGoal,
                      kAgainstGoal, kLowering)),
    on_blade(
        past_line_crossed, "past_line_crossed",
        together(kStretch, kOneFace, kAmount, kMostAt, std::array{number("wanted_mm")}, kLowering)),
    on_blade(land_short_centred, "land_short_centred",
             together(kStretch, kLandLeft, kLandAt, kGoal, kAgainstGoal, kLowering)),
    on_blade(land_short_off_centre, "land_short_off_centre",
             together(kStretch, kOneFace, std::array{number("width_mm"), number("width_U95_mm")},
                      kOff, kLandLeft, kLandAt, kGoal, kAgainstGoal, kLowering)),
    on_blade(lines_centred, "lines_centred",
             together(kStretch, std::array{number("tolerance_mm"), number("U95_mm")}, kLandLeft,
                      kGoal, kAgainstGoal)),
    on_blade(lines_right, "lines_right",
             together(kStretch, std::array{number("U95_mm")}, kLandLeft, kGoal, kAgainstGoal)),
    on_blade(
        scribe_again, "scribe_again",
        together(kStretch,
                 std::array{text("face"), maybe("offset_mm"), maybe("offset_U95_mm"),
                            maybe("worst_mm"), maybe("worst_x_mm"), maybe("left_past_mm"),
                            maybe("left_short_mm"), maybe("left_U95_mm"), maybe("right_past_mm"),
                            maybe("right_short_mm"), maybe("right_U95_mm")},
                 kLandLeft, std::array{maybe("wanted_mm")})),
    on_blade(across_and_into, "across_and_into", {number("facet_deg")}),
    on_blade(press_at_edge, "press_at_edge", {}),
    on_blade(within_reach_of_400, "within_reach_of_400", {number("most_mm")}),
    on_blade(coarser_belt, "coarser_belt", {number("most_mm"), number("grit")}),
    on_blade(plunges_as_one, "plunges_as_one", {number("U95_mm")}),
    on_blade(plunge_nearer_tip, "plunge_nearer_tip",
             {text("face"), number("by_mm"), number("U95_mm")}),
    on_blade(nothing_measured, "nothing_measured", {}),
    on_blade(one_face_only, "one_face_only", {text("face"), text("other")}),
    on_blade(bevels_not_compared, "bevels_not_compared", {}),
    on_blade(bevels_as_one, "bevels_as_one", {number("by_mm"), number("U95_mm")}),
    on_blade(
        leave_bevels, "leave_bevels",
        {text("face"), number("by_mm"), number("U95_mm"), number("x_mm"), number("tolerance_mm")}),
    on_blade(grind_face, "grind_face",
             together(std::array{text("face"), maybe("first_from_x_mm"), maybe("first_to_x_mm"),
                                 maybe("second_from_x_mm"), maybe("second_to_x_mm"),
                                 maybe("third_from_x_mm"), maybe("third_to_x_mm"),
                                 maybe("last_from_x_mm"), maybe("last_to_x_mm"),
                                 maybe("more_stretches")},
                      kAmount, std::array{number("most_x_mm")})),
    on_blade(bevel_higher_on_average, "bevel_higher_on_average",
             {text("face"), number("by_mm"), number("U95_mm")}),
    on_blade(plunge_leans, "plunge_leans", {text("face"), number("by_deg"), number("U95_deg")}),
    on_blade(halves_not_compared, "halves_not_compared", {}),
    on_blade(halves_as_one, "halves_as_one", {number("by_mm"), number("U95_mm")}),
    on_blade(leave_section, "leave_section",
             {text("face"), number("by_mm"), number("U95_mm"), number("depth_mm"),
              number("tolerance_mm")}),
    on_blade(grind_section, "grind_section",
             {text("face"), number("by_mm"), number("U95_mm"), number("depth_mm")}),
    on_blade(side_convex, "side_convex", {text("face"), number("bow_mm"), number("U95_mm")}),
    on_blade(side_hollow, "side_hollow",
             {text("face"), number("radius_mm"), maybe("diameter_mm"), maybe("low_mm"),
              maybe("high_mm")}),
    RemarkKind{ribbon_leave, "ribbon_leave"},
    RemarkKind{ribbon_lower_first, "ribbon_lower_first"},
    RemarkKind{ribbon_off, "ribbon_off", together(kAmount)},
    RemarkKind{ribbon_past, "ribbon_past", together(kAmount)},
    RemarkKind{ribbon_to_line, "ribbon_to_line"},
    RemarkKind{ribbon_past_line, "ribbon_past_line", together(kAmount)},
    RemarkKind{ribbon_short_of_line, "ribbon_short_of_line", together(kAmount)},
    RemarkKind{ribbon_up, "ribbon_up", together(kAmount)},
    RemarkKind{come_up_by, "come_up_by", together(kAmount)},
    RemarkKind{turn_blade_next,
               "turn_blade_next",
               {number("now_mm"), number("then_mm"), maybe("limit_mm")}},
    RemarkKind{stand_over_edge_next,
               "stand_over_edge_next",
               {number("distance_mm"), text("face"), number("now_mm"), number("then_mm"),
                maybe("limit_mm")}},
    RemarkKind{come_closer_next,
               "come_closer_next",
               {number("distance_mm"), number("now_mm"), number("then_mm"), maybe("limit_mm")}},
    RemarkKind{calibrate_next, "calibrate_next", {number("now_mm"), number("then_mm")}},
    RemarkKind{no_photo_helps, "no_photo_helps", {number("now_mm")}},
    RemarkKind{check_printed_bar, "check_printed_bar", {number("bar_mm"), number("percent")}},
    on_blade(practice_holds, "practice_holds", {number("numbers")}),
    on_blade(practice_print_size, "practice_print_size",
             {number("percent"), text("size"), number("bar_mm"), number("measured_mm")}),
    on_blade(practice_paper_bent, "practice_paper_bent", {number("bend_mm")}),
    on_blade(practice_photo_soft, "practice_photo_soft", {number("blur_px")}),
    on_blade(practice_offset_off, "practice_offset_off", {number("by_mm"), number("U95_mm")}),
    on_blade(practice_widths_off, "practice_widths_off",
             {text("what"), number("by_mm"), text("way"), number("U95_mm")}),
    on_blade(practice_plunges_off, "practice_plunges_off", {number("by_mm"), number("U95_mm")}),
    RemarkKind{finish_lamp_unknown, "finish_lamp_unknown", {text("photo")}},
    RemarkKind{finish_use_one_lamp, "finish_use_one_lamp"},
    RemarkKind{finish_lamp_saw_nothing,
               "finish_lamp_saw_nothing",
               {text("photo"), number("scratches"), text("face")}},
    RemarkKind{finish_blind, "finish_blind", {text("face"), number("from_deg"), number("to_deg")}},
    RemarkKind{finish_move_lamp,
               "finish_move_lamp",
               {text("face"), text("place"), number("tick"), text("beside")}},
    RemarkKind{finish_blown, "finish_blown", {text("photo"), number("percent"), text("face")}},
    RemarkKind{finish_dark, "finish_dark", {text("photo"), number("percent"), text("face")}},
    RemarkKind{finish_part_judged, "finish_part_judged", {number("percent"), text("face")}},
    RemarkKind{finish_thickness_assumed, "finish_thickness_assumed"},
    on_blade(finish_none_left, "finish_none_left",
             {text("face"), number("most_per_cm2"), maybe("smallest_mm")}),
    on_blade(finish_more_work, "finish_more_work",
             {text("face"), text("zone"), number("scratches"), number("per_cm2"),
              number("from_x_mm"), number("to_x_mm")}),
    on_blade(finish_sand_next, "finish_sand_next",
             {text("face"), number("angle_deg"), text("way")}),
};

constexpr bool in_order() {
  for (std::size_t i = 0; i < kKinds.size(); ++i) {
    if (static_cast<std::size_t>(kKinds[i].code) != i) return false;
  }
  return true;
}
static_assert(in_order() && kKinds.back().code == finish_sand_next, "a code without its kind");

/// Numbers rounded as files hold them, so that a remark read back says the same.
template <class Value>
RemarkValue value_of(const Value& value) {
  if constexpr (std::is_arithmetic_v<Value>) {
    return std::round(static_cast<double>(value) * 1e5) / 1e5;
  } else if constexpr (std::is_convertible_v<Value, std::string_view>) {
    return InUnits(std::string(std::string_view(value)));
  } else {
    return InUnits(value);
  }
}

template <class... Values>
constexpr bool fit(const RemarkKind& kind) {
  [[maybe_unused]] std::size_t i = 0;
  return sizeof...(Values) == kind.count() &&
         ((kind.values[i++].number == std::is_arithmetic_v<Values>)&&...);
}

}  // namespace words

constexpr const RemarkKind& kind_of(RemarkCode code) {
  return words::kKinds[static_cast<std::size_t>(code)];
}

/// A remark with its values in the order of its kind; that they are those is checked when it is
/// compiled.
template <RemarkCode code, class... Values>
Remark remark(const Values&... values) {
  static_assert(words::fit<Values...>(kind_of(code)), "not the values that this code has");
  Remark made{.code = code};
  [[maybe_unused]] std::size_t i = 0;
  (made.values.push_back({std::string(kind_of(code).values[i++].name), words::value_of(values)}),
   ...);
  return made;
}

/// A remark put together value by value: what may be missing is left out. Names and values are its
/// kind's, in any order; `done` puts them into that order.
class RemarkDraft {
 public:
  explicit RemarkDraft(RemarkCode code) : kind_(kind_of(code)) {}

  template <class Value>
  RemarkDraft& with(std::string_view name, const Value& value) {
    put(name, words::value_of(value));
    return *this;
  }
  template <class Value>
  RemarkDraft& with(std::string_view name, const std::optional<Value>& value) {
    return value ? with(name, *value) : *this;
  }

  /// @pre Every value that the kind needs was given.
  Remark done() const;

 private:
  void put(std::string_view name, RemarkValue value);

  const RemarkKind& kind_;
  std::vector<NamedRemarkValue> values_ = {};
};

/// One sentence or several, complete.
std::string sentence(const Remark& remark, LengthUnit unit);
InUnits sentence(const Remark& remark);
std::vector<std::string> sentences(std::span<const Remark> remarks, LengthUnit unit);
std::vector<InUnits> sentences(std::span<const Remark> remarks);

/// Whether both read the same in mm, the digits that are shown included.
bool says_the_same(const Remark& a, const Remark& b);

/// Those of `more` that do not say what one of `remarks` says already.
void add_new(std::vector<Remark>& remarks, std::span<const Remark> more);

}  // namespace evenbevel
