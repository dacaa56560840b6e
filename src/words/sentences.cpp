#include "words/sentences.hpp"

#include <algorithm>
#include <array>
#include <string_view>
#include <utility>

namespace evenbevel::words {
namespace {

// In braces the values: words as they are, numbers with their decimals after the colon, or with "~"
// to the place of their uncertainty. A number whose name ends in _mm is a length, said in the unit
// asked for and with it ("n": without). Values that may be missing stand in brackets: of the
// alternatives there the first one whose values are all known is said. "@": a phrase.
struct Sentence {
  RemarkCode code;
  std::string_view text;
};

constexpr std::array kPhrases = {
    Phrase{"where", "[From x = {from_x_mm:0n} to {to_x_mm:0}|Along the whole blade]"},
    // From least to most along the stretch; up to most, where the least is not resolved; alike.
    Phrase{"amount",
           "[{least_mm:~U95_mm,n} to {most_mm:~U95_mm} (most at x = {most_x_mm:0})|up to "
           "{most_mm:~U95_mm} (most at x = {most_x_mm:0})|{by_mm:~U95_mm}]"},
    Phrase{"few",
           "[{least_mm:~U95_mm,n} to {most_mm:~U95_mm}|up to {most_mm:~U95_mm}|{by_mm:~U95_mm}]"},
    // Of steel to come off: across the land, and into the facet where its angle is known.
    Phrase{"cut",
           "[{least_mm:~U95_mm,n} to {most_mm:~U95_mm} across the land (most at x = "
           "{most_x_mm:0}; square into the facet {into_least_mm:~U95_mm,n} to "
           "{into_most_mm:~U95_mm})|up to {most_mm:~U95_mm} across the land (most at x = "
           "{most_x_mm:0}; square into the facet up to {into_most_mm:~U95_mm})|{by_mm:~U95_mm} "
           "across the land ({into_by_mm:~U95_mm} square into the facet)|{least_mm:~U95_mm,n} to "
           "{most_mm:~U95_mm} across the land (most at x = {most_x_mm:0})|up to {most_mm:~U95_mm} "
           "across the land (most at x = {most_x_mm:0})|{by_mm:~U95_mm} across the land]"},
    Phrase{"off",
           "[{off_mm:~off_U95_mm} across the land ({into_off_mm:~off_U95_mm} square into the "
           "facet)|{off_mm:~off_U95_mm} across the land]"},
    // Of the land that is left: how wide, whether that is enough.
    Phrase{"left",
           "[a land of {land_mm:~land_U95_mm} (U95 {land_U95_mm:U}, narrowest at x = "
           "{land_x_mm:0})|a land of {land_mm:~land_U95_mm} (U95 {land_U95_mm:U})]{@enough}"},
    Phrase{"enough",
           "[, {short_mm:~land_U95_mm} less than the {wanted_mm:3t} you want|, "
           "{short_mm:~land_U95_mm} less than the usual {usual_mm:3t}|, enough: "
           "{spare_mm:~land_U95_mm} more than the {wanted_mm:3t} you want|, enough: "
           "{spare_mm:~land_U95_mm} more than the usual {usual_mm:3t}|, as far as this photo can "
           "tell the {wanted_mm:3t} you want|, as far as this photo can tell the usual "
           "{usual_mm:3t}]"},
    // The other way out.
    Phrase{"or_lower",
           "[; or lower the edge by {lower_mm:~lower_U95_mm} first, and {wanted_mm:3t} are left|; "
           "or lower the edge by {lower_mm:~lower_U95_mm} first, and {usual_mm:3t} are left]"},
    Phrase{
        "leaves",
        "[: that leaves {land_mm:~land_U95_mm} of the land (U95 {land_U95_mm:U}, "
        "narrowest at x = {land_x_mm:0})|: that leaves a land of {land_mm:~land_U95_mm} (U95 "
        "{land_U95_mm:U})|: how much land that leaves does not show in this photo, so measure it "
        "first]{@enough}{@or_lower}"},
    Phrase{"next",
           ": the interval would shrink from {now_mm:3} to about {then_mm:3}[, which may "
           "still not tell: the worst place lies close to the limit of {limit_mm:3}]."},
};

/// In the order of RemarkCode.
constexpr std::array kSentences = {
    Sentence{as_written, "{text}"},
    Sentence{what_to_do, "{text}"},
    Sentence{next_photo, "{text}"},
    Sentence{frames_left_out,
             "{left_out:0} of {frames:0} frames had moved or changed against the first and were "
             "left out."},
    Sentence{source_ended, "The source ended after {frames:0} of {asked:0} frames."},
    Sentence{picture_not_turned,
             "EXIF says that the picture is to be turned (orientation {exif_orientation:0}), but "
             "the HEIC file itself does not; it is shown as stored, and measured the same."},
    Sentence{
        focal_length_absurd,
        "EXIF gives a focal length like that of a {focal_35:0} millimetre lens on 35 millimetre "
        "film, which no camera has: it was left out."},
    Sentence{first_page_only, "The file holds {pages:0} pictures; the first one was measured."},
    Sentence{lens_centre_moved,
             "The lens has moved since it was calibrated: principal point {centre_px:0} px from "
             "the camera file. The photo was measured with the lens as found."},
    Sentence{lens_longer,
             "The lens has moved since it was calibrated: focal length {focal_percent:1} % longer "
             "than in the camera file. The photo was measured with the lens as found."},
    Sentence{lens_shorter,
             "The lens has moved since it was calibrated: focal length {focal_percent:1} % "
             "shorter than in the camera file. The photo was measured with the lens as found."},
    Sentence{lens_centre_moved_and_longer,
             "The lens has moved since it was calibrated: principal point {centre_px:0} px from "
             "the camera file, focal length {focal_percent:1} % longer. The photo was measured "
             "with the lens as found."},
    Sentence{lens_centre_moved_and_shorter,
             "The lens has moved since it was calibrated: principal point {centre_px:0} px from "
             "the camera file, focal length {focal_percent:1} % shorter. The photo was measured "
             "with the lens as found."},
    Sentence{card_bent, "The card is bent by {bend_mm:1}."},
    Sentence{camera_not_told,
             "The photo does not say which camera took it (it has no EXIF), so nothing tells that "
             "{file} is this camera's: its lens counts as little known, which widens the "
             "intervals. Copy the photo as the camera stored it, not through a messenger or an "
             "editor; a USB camera's picture is best taken live (--camera)."},
    Sentence{camera_unknown,
             "There is no camera file for {camera}: the lens is a guess, and the intervals are "
             "wider. Calibrate this camera once ('evenbevel calibrate'), and its photos find "
             "the file by themselves."},
    Sentence{camera_unnamed,
             "The photo does not say which camera took it (it has no EXIF), so no camera file is "
             "looked for: the lens is a guess, and the intervals are wider. Copy the photo as "
             "the camera stored it, or name the camera file (--camera-file)."},
    Sentence{edge_over_exposed,
             "{percent:0} % of the edge is over-exposed; its borders look wider than they are and "
             "the intervals are widened."},
    Sentence{expose_edge_less,
             "Turn the exposure down a step or move the light, so that no part of the edge is "
             "pure white."},
    Sentence{photo_soft, "The photo is soft: borders are blurred over {blur_px:<3} px."},
    Sentence{focus_on_edge, "Hold the phone steady, tap on the edge to focus, and take it again."},
    Sentence{few_stations, "Only {percent:0} % of the stations could be measured."},
    Sentence{move_over_edge, "Move the camera toward the {face} face, to stand over the edge."},
    Sentence{flats_end_at_plunges,
             "The flats end at the plunge lines: the mid-plane is carried on from the ricasso, "
             "and the interval grows with the distance from it."},
    Sentence{plunges_not_clear,
             "The plunge lines do not show clearly enough to be measured: light them from the "
             "side."},
    Sentence{
        stage_doubted,
        "This was read as a ground edge, but the flats' rims beside it do not go with those of "
        "the ricasso: it may be full bevels. The interval holds both. If it is a ground edge, "
        "give --shows ground; if not, --shows bevelled."},
    Sentence{tip_from_edge_on_card,
             "The tip is taken to point {tip} on the upright card, from where the ground edge "
             "ends. If it does not, give --tip: left and right faces change places."},
    Sentence{tip_from_edge_in_picture,
             "The tip is taken to point {tip} in the upright picture, from where the ground edge "
             "ends. If it does not, give --tip: left and right faces change places."},
    Sentence{tip_assumed_on_card,
             "Nothing in the photo tells where the tip is: it is taken to point {tip} on the "
             "upright card. If it does not, give --tip: left and right faces change places."},
    Sentence{tip_assumed_in_picture,
             "Nothing in the photo tells where the tip is: it is taken to point {tip} in the "
             "upright picture. If it does not, give --tip: left and right faces change places."},
    Sentence{quick_look,
             "Quick look, no card: the thickness is the ruler, and the camera is taken to stand "
             "within 10 degrees of over the edge; the interval is as wide as that leaves it."},
    Sentence{lens_assumed,
             "Nothing says how wide the lens sees: a usual phone or USB camera is assumed. The "
             "distance is as uncertain as that; the offset hardly is, since the thickness sets "
             "its scale."},
    Sentence{stage_assumed,
             "Without a card a ground edge is not surely told from a bevelled one: it is taken as "
             "{stage} (--shows if not)."},
    Sentence{lay_edge_card,
             "Lay the edge card over the edge: it tells where the camera stands and how large a "
             "millimetre is."},
    Sentence{lay_edge_card_against,
             "Lay the edge card over the edge: it tells where the camera stands and how large a "
             "millimetre is. The largest part of the interval is: {cause}."},
    Sentence{lay_edge_card_and_soften_light,
             "Lay the edge card over the edge: it tells where the camera stands and how large a "
             "millimetre is. The largest part of the interval is: {cause}. Softer light from both "
             "sides helps it."},
    Sentence{photo_left_out, "Left out: {reason}."},
    Sentence{turn_assumed,
             "Nothing in the photos shows whether the blade was turned between them: it is taken "
             "to be. Let the plunge lines or one end of the blade show."},
    Sentence{no_bevel_line, "No bevel line was found on the {face} face."},
    Sentence{bevel_line_in_parts,
             "The bevel line of the {face} face was found over only {percent:0} % of its length."},
    Sentence{light_for_bevel_line,
             "Light the {face} face from the side, so that flat and bevel differ in brightness."},
    Sentence{no_plunge_line, "No plunge line was found on the {face} face."},
    Sentence{face_over_exposed, "{percent:0} % of the {face} face is over-exposed (pure white)."},
    Sentence{expose_face_less, "Turn the exposure down for the {face} face, or move the light."},
    Sentence{face_lens_assumed,
             "The camera was not calibrated: its lens is a guess, and the {face} face's intervals "
             "are wider for it."},
    Sentence{card_not_flat, "The card under the {face} face is not flat."},
    Sentence{lay_card_flat, "Lay the card on something flat and hold its ends down."},
    Sentence{camera_aside,
             "The camera stood far aside of the {face} face: what lies at different heights "
             "shifts against each other."},
    Sentence{camera_over_blade, "Hold the camera over the middle of the blade."},
    Sentence{no_place_from_plunge,
             "No plunge line was seen, so no bevel height can be given at a distance from it."},
    Sentence{no_place_from_tip,
             "The tip was not seen, so no bevel height can be given at a distance from it."},
    Sentence{means_from_handle_end,
             "No plunge line was seen: the stretch of the means is counted from the blade's "
             "handle end."},
    Sentence{paper_over_exposed,
             "The paper is over-exposed along {percent:0} % of the section: the blade looks "
             "thinner than it is, and the intervals are widened."},
    Sentence{expose_paper_less,
             "Turn the exposure down a step, so that the paper is not pure white."},
    Sentence{section_soft,
             "The photo is soft: the section's borders are blurred over {blur_px:1} px."},
    Sentence{focus_on_heel,
             "Rest the phone on something, tap on the heel's end to focus, and take it again."},
    Sentence{blade_small, "The blade is small in the photo: {px_per_mm:0}."},
    Sentence{go_closer, "Go closer, so that the heel card fills the picture."},
    Sentence{look_along_blade,
             "Move the camera toward the {face} face, to look straight along the blade."},
    Sentence{no_flats,
             "No flats are seen: the halves, the asymmetry and the angle of each side rest on the "
             "section's own middle and on the card standing upright."},
    Sentence{show_flats,
             "For the asymmetry, take the photo so that the flats show too, below the bevels."},
    Sentence{section_leans,
             "The section's middle leans {lean_deg:1} degrees or more against the card: the card "
             "does not stand square to the blade, or the bevels differ much."},
    Sentence{stand_card_upright, "Stand the card upright on the jaws, and take the photo again."},
    Sentence{glue_card, "Glue the card on flat board."},
    Sentence{heights_left_out,
             "At {heights:0} heights the heel's end could not be told from the blade behind it: "
             "there is no number there."},
    Sentence{heel_border_faint,
             "The heel's end and the blade's side behind it look nearly alike: their border is "
             "faint."},
    Sentence{light_heel,
             "Light the heel's end from the camera's side, or look straighter along the blade."},
    Sentence{reading_left_out, "Left out: {file}, {reason}."},
    Sentence{unequal_cells,
             "The cells hold between {fewest:0} and {most:0} readings. The analysis of variance "
             "allows for it (fitting of constants), its intervals are approximate; the "
             "average-and-range method needs equal cells and is left out."},
    Sentence{empty_cells,
             "The cells hold between {fewest:0} and {most:0} readings; none: {cells}. The "
             "analysis of variance allows for it (fitting of constants), its intervals are "
             "approximate; the average-and-range method needs equal cells and is left out."},
    Sentence{read_once,
             "Every part was read once by each person: the average-and-range method needs two "
             "readings and is left out."},
    Sentence{interaction_not_told,
             "Too few readings were repeated to tell whether persons differ on some parts more "
             "than on others; that, if any, counts as repeatability."},
    Sentence{one_part, "One part only: nothing is said of how well parts can be told apart."},
    Sentence{wide_ranges,
             "Readings apart by more than the range limit: {cells}. Look for a slip there, and "
             "read again."},
    Sentence{variance_negative,
             "The variance of {spreads} came out negative and is set to zero: too small to be "
             "told from the repeatability by so few readings."},
    Sentence{few_repeats,
             "Few repeats ({dof:0} degrees of freedom): the spreads are rough, as their intervals "
             "say. Ten parts, each read three times, make a good study."},
    Sentence{agree_on_set_up,
             "Most of the set-up's spread is between persons: agree on one way to clamp, to place "
             "the card and to hold the camera, and study again."},
    Sentence{steady_set_up,
             "Most of the set-up's spread comes with each clamping and photo: clean square jaws, "
             "the card flat on them, the camera in one place. The mean of four photos, clamped "
             "anew each time, has half the spread of one."},
    Sentence{look_for_bias,
             "Look for the bias in the printed bar, the camera file, the edge height and the "
             "light, in this order."},
    Sentence{tilt_more,
             "Tilt more: {steep:0} of {photos:0} photos are tilted by {least_deg:0} degrees or "
             "more (the "
             "steepest by {steepest_deg:0}); take a few at 30 to 45 degrees, in different "
             "directions."},
    Sentence{all_lean_alike,
             "All photos lean the same way: tilt the card sideways as well as back and forth."},
    Sentence{one_distance,
             "The photos come from one distance only ({nearest_mm:0n} to {farthest_mm:0}): take "
             "some nearer and some farther, around the distance from which you will measure."},
    Sentence{turn_card,
             "The card lies the same way round in all photos: turn the card or the camera by a "
             "quarter turn for some, so that a stretch of the print does not pass for one of the "
             "lens."},
    Sentence{lens_loose,
             "The lens model is loose toward the {part} of the picture (standard uncertainty "
             "{u_px:0} px): a measurement there would not be trustworthy; show the card there."},
    Sentence{parts_not_seen,
             "Nothing seen in the {parts} of the picture: hold the card there in a photo or two; "
             "parts of the card may stick out of the picture."},
    Sentence{one_more_photo,
             "Take 1 more photo: {used:0} were used, {wanted:0} or more make the camera firmer."},
    Sentence{more_photos,
             "Take {more:0} more photos: {used:0} were used, {wanted:0} or more make the camera "
             "firmer."},
    Sentence{large_residuals,
             "The residuals are large, {rms_px:1} px RMS: the card may not have been flat, or the "
             "zoom or focus changed between photos."},
    Sentence{distortion_held,
             "The photos cannot hold {parameter} by themselves; it was held near 0. Photos with "
             "the card out in the corners of the picture would show it."},
    Sentence{photo_on_trust,
             "The report does not hold the hash of {photo}: that this is the photo it was "
             "measured from is taken on trust."},
    Sentence{no_offset,
             "The centreline offset is not resolved by this photo: grind nothing on the strength "
             "of it."},
    Sentence{leave_centred,
             "{@where} leave it: the edge is centred within {tolerance_mm:3} (U95 {U95_mm:U})."},
    Sentence{leave_at_lines,
             "{@where} leave it: both sides of the land are at their lines, as far as this photo "
             "can tell (U95 {U95_mm:U})."},
    Sentence{leave_unresolved,
             "{@where} take nothing off on the strength of this photo: any offset is smaller than "
             "it resolves (U95 {U95_mm:U})."},
    Sentence{take_off_one,
             "{@where} take {@cut} off the {face} {surface} and leave the other one{@leaves}."},
    Sentence{
        take_off_one_to_line,
        "{@where} take {@cut} off the {face} {surface}; the other one is at its line{@leaves}."},
    Sentence{take_off_both,
             "{@where} take {@cut:left_} off the left {surface} and {@cut:right_} off the right "
             "{surface}: that leaves the land of {wanted_mm:3t} that you want."},
    Sentence{lower_before_centring,
             "{@where} lower the edge by {lower_mm:~lower_U95_mm} first, then take {@cut} off the "
             "{face} {surface} and leave the other one[: {wanted_mm:3t} of land are left|: "
             "{usual_mm:3t} of land, as is usual, are left]. At the present height no land would "
             "surely be left ({land_mm:~land_U95_mm}, U95 {land_U95_mm:U})."},
    Sentence{centring_leaves_nothing,
             "{@where} do not centre it at this height: that takes {@amount} across the land off "
             "the {face} {surface}, and no land would surely be left ({land_mm:~land_U95_mm}, U95 "
             "{land_U95_mm:U})."},
    Sentence{past_line_centred,
             "{@where} the {face} {surface} is already {@amount} past its line: leave both sides, "
             "the land is centred as far as this photo can tell. There is {@left}{@or_lower}."},
    Sentence{past_line_best_centre,
             "{@where} the {face} {surface} is already {@amount} past its line: the best centre "
             "left is {@left}, by taking {@off} off the other one only{@or_lower}."},
    Sentence{
        past_line_crossed,
        "{@where} the {face} {surface} is already {@amount} past its line, so far that no centred "
        "land would surely be left at this height[; lower it by {lower_mm:~lower_U95_mm} first and "
        "keep a land of {wanted_mm:3t}|, and a land of {wanted_mm:3t} cannot be kept]."},
    Sentence{land_short_centred,
             "{@where} take no more off either side: there is {@left}{@or_lower}."},
    Sentence{land_short_off_centre,
             "{@where} the land is already down to {width_mm:~width_U95_mm}: only centre it, by "
             "taking {@off} off the {face} {surface}{@leaves}."},
    Sentence{
        lines_centred,
        "{@where} grind to the lines: they are centred within {tolerance_mm:3} (U95 {U95_mm:U})[. "
        "That leaves a land of {land_mm:~land_U95_mm} (U95 {land_U95_mm:U})]{@enough}."},
    Sentence{lines_right,
             "{@where} the lines are as they should be, as far as this photo can tell (U95 "
             "{U95_mm:U})[. Ground to them there is a land of {land_mm:~land_U95_mm} (U95 "
             "{land_U95_mm:U})]{@enough}."},
    Sentence{
        scribe_again,
        "{@where} the lines [stand {offset_mm:~offset_U95_mm} (up to {worst_mm:~offset_U95_mm} at "
        "x = {worst_x_mm:0}) toward the {face} face|stand {offset_mm:~offset_U95_mm} toward the "
        "{face} face|have the wrong gap]: scribe again, or grind [{left_past_mm:~left_U95_mm} past "
        "the left line|{left_short_mm:~left_U95_mm} short of the left line|to the left line] and "
        "[{right_past_mm:~right_U95_mm} past the right line|{right_short_mm:~right_U95_mm} short "
        "of the right line|to the right line][, which leaves a land of {land_mm:~land_U95_mm} (U95 "
        "{land_U95_mm:U})|, which leaves the land of {wanted_mm:3t} that you want]."},
    Sentence{across_and_into,
             "Across the land is as seen from above. Square into the facet is what the belt takes "
             "off it, with facets at {facet_deg:0} degrees from the mid-plane."},
    Sentence{press_at_edge,
             "Across the land is as seen from above: press at the edge, and let the belt off "
             "toward the bevel line."},
    Sentence{within_reach_of_400,
             "The most there is to take off is {most_mm:3} across the land: still within reach of "
             "a 400 grit belt."},
    Sentence{coarser_belt,
             "The most there is to take off is {most_mm:3} across the land: put it right at "
             "{grit:0} grit or coarser, a finer belt hardly moves it any more."},
    Sentence{plunges_as_one,
             "Any plunge line mismatch is smaller than its interval (U95 {U95_mm:U})."},
    Sentence{plunge_nearer_tip,
             "The {face} plunge line is {by_mm:~U95_mm} (U95 {U95_mm:U}) nearer the tip: bring it "
             "back toward the handle to meet the other one."},
    Sentence{nothing_measured, "Nothing was measured: grind nothing on the strength of it."},
    Sentence{one_face_only,
             "Only the {face} face was photographed: take the other one as well, with --{other}, "
             "to set them against each other."},
    Sentence{bevels_not_compared,
             "The bevel lines could not be compared in these photos: grind nothing on the strength "
             "of them."},
    Sentence{bevels_as_one,
             "Any difference between the two bevel lines is smaller than these photos resolve: "
             "{by_mm:~U95_mm} (U95 {U95_mm:U}) at the worst place."},
    Sentence{leave_bevels,
             "Leave the bevel lines: the {face} one is higher by up to {by_mm:~U95_mm} (U95 "
             "{U95_mm:U}) at x = {x_mm:0}, and {tolerance_mm:3} is allowed."},
    Sentence{grind_face,
             "Grind the {face} face [from x = {first_from_x_mm:0n} to {first_to_x_mm:0}|at x = "
             "{first_from_x_mm:0}|along the whole bevel][, from x = {second_from_x_mm:0n} to "
             "{second_to_x_mm:0}|, at x = {second_from_x_mm:0}][, from x = {third_from_x_mm:0n} to "
             "{third_to_x_mm:0}|, at x = {third_from_x_mm:0}][ and from x = {last_from_x_mm:0n} to "
             "{last_to_x_mm:0}| and at x = {last_from_x_mm:0}][ and in {more_stretches:0} "
             "more]: its bevel line has still to come up by {@few} (U95 "
             "{U95_mm:U}, most at x = {most_x_mm:0})."},
    Sentence{bevel_higher_on_average,
             "On average the {face} bevel line is higher by {by_mm:~U95_mm} (U95 {U95_mm:U})."},
    Sentence{plunge_leans,
             "Going up, the {face} plunge line leans to the tip by {by_deg:~U95_deg} (U95 "
             "{U95_deg:U}) more than the other one."},
    Sentence{halves_not_compared,
             "The two halves of the section could not be compared in this photo: grind nothing on "
             "the strength of it."},
    Sentence{halves_as_one,
             "Any difference between the two halves is smaller than this photo resolves: "
             "{by_mm:~U95_mm} (U95 {U95_mm:U}) at the worst place."},
    Sentence{leave_section,
             "Leave it: the {face} half is thicker by up to {by_mm:~U95_mm} (U95 {U95_mm:U}), "
             "{depth_mm:3t} behind the edge, and {tolerance_mm:3} is allowed."},
    Sentence{grind_section,
             "Grind the {face} face: the {face} half is thicker by up to {by_mm:~U95_mm} (U95 "
             "{U95_mm:U}), {depth_mm:3t} behind the edge."},
    Sentence{side_convex,
             "The {face} side is convex: it stands {bow_mm:~U95_mm} (U95 {U95_mm:U}) proud of a "
             "straight one."},
    Sentence{
        side_hollow,
        "The {face} side is hollow, as a wheel of {radius_mm:0} radius[, {diameter_mm:0} "
        "across,] leaves it[ (95 %: radius {low_mm:0} to {high_mm:0})| (95 %: radius {low_mm:0} "
        "and up; so short an arc does not say more)]."},
    Sentence{ribbon_leave, "leave"},
    Sentence{ribbon_lower_first, "lower the edge first"},
    Sentence{ribbon_off, "off {@few}"},
    Sentence{ribbon_past, "{@few} past its line"},
    Sentence{ribbon_to_line, "to the line"},
    Sentence{ribbon_past_line, "{@few} past the line"},
    Sentence{ribbon_short_of_line, "{@few} short of the line"},
    Sentence{ribbon_up, "bring up by {@few}"},
    Sentence{come_up_by, "{@few}"},
    Sentence{turn_blade_next,
             "Turn the blade end for end in the jaws and take a second photo (--turned){@next}"},
    Sentence{stand_over_edge_next,
             "Move the camera {distance_mm:0} toward the {face} face, to stand over the edge, and "
             "take the photo again{@next}"},
    Sentence{come_closer_next,
             "Come closer, to {distance_mm:0} if the whole edge still fits the picture, and take "
             "the photo again{@next}"},
    Sentence{calibrate_next,
             "Calibrate the camera once ('evenbevel calibrate') and give its camera file: the lens "
             "is a guess, which widens the interval from {then_mm:3} to {now_mm:3}."},
    Sentence{no_photo_helps,
             "No further photo of this set-up would narrow the interval of {now_mm:3} much."},
    Sentence{check_printed_bar,
             "Measure the {bar_mm:0} bar on the printed card with calipers and give what it "
             "measures (--printed-bar): the print is taken to be true to {percent:1} %, and a page "
             "fitted to the paper, 3 % small, shows nowhere in these numbers."},
    Sentence{practice_holds,
             "Go on to the first blade: all {numbers:0} printed numbers lie inside the intervals "
             "that this printer, phone, light and program state."},
    Sentence{practice_print_size,
             "Print the page again at 100 % (actual size, never fit to page): its {bar_mm:0} bar "
             "measures {measured_mm:1}, {percent:1} % {size}. Cards printed the same way are as "
             "far off: until they are printed anew, give --printed-bar with each photo of them."},
    Sentence{practice_paper_bent,
             "Lay the paper flat and take the photo again: it is bent by {bend_mm:1}. Glass, a "
             "board or its corners taped down will do; a card that is cut and used is glued on."},
    Sentence{practice_photo_soft,
             "Take the photo again, phone held steady and focused on the strip by a tap: borders "
             "are blurred over {blur_px:<3} px."},
    Sentence{practice_offset_off,
             "Light the page from both sides alike, hold the phone over the strip and take the "
             "photo again: the lines' offset is read {by_mm:~U95_mm} off, more than its interval "
             "(U95 {U95_mm:U}). If it stays, calibrate the camera (evenbevel calibrate), and until "
             "then trust no offset nearer than that."},
    Sentence{practice_widths_off,
             "Trust widths (land, thickness, line gap) less than they state on this chain: {what} "
             "is read {by_mm:~U95_mm} {way} than printed (U95 {U95_mm:U}). Ink that spreads or a "
             "photo too bright does that to widths and hardly to offsets; matt paper, a laser "
             "printer and a step less of exposure help."},
    Sentence{practice_plunges_off,
             "Lay the paper flat, take the photo from straight above and again: the plunge "
             "mismatch is read {by_mm:~U95_mm} off, more than its interval (U95 {U95_mm:U})."},
    Sentence{finish_lamp_unknown,
             "{photo}: the card's paper is lit too evenly to tell where the lamp stood, so nothing "
             "is known of which scratches could have shone."},
    Sentence{finish_use_one_lamp,
             "Use one small lamp low over the bench, about half a metre away, and put out the "
             "others."},
    Sentence{finish_lamp_saw_nothing,
             "{photo}: from this lamp place no scratch shone that was found on the {face} face "
             "({scratches:0} in all)."},
    Sentence{finish_blind,
             "No lamp place shows scratches that run between {from_deg:0} and {to_deg:0} degrees "
             "to the edge on the {face} face: such ones may be there."},
    Sentence{finish_move_lamp,
             "Take one more photo of the {face} face with the lamp {place}, at the card's tick "
             "{tick:0} ({beside}): it then shines across the scratches that no photo shows yet."},
    Sentence{finish_blown,
             "{photo}: {percent:0} % of the {face} face is over-exposed (pure white); turn the "
             "exposure down."},
    Sentence{finish_dark,
             "{photo}: {percent:0} % of the {face} face is too dark to judge; bring the lamp "
             "nearer, or turn the exposure up."},
    Sentence{finish_part_judged,
             "Only {percent:0} % of the {face} face could be judged; the rest is blown, dark, too "
             "coarse, or beside rims and bevel line."},
    Sentence{finish_thickness_assumed,
             "The stock's thickness was not given and is taken to be 3.5 millimetres, so places "
             "on the blade are less sure; say it with --thickness."},
    Sentence{finish_none_left,
             "No scratch across the present lay was found on the {face} face: fewer than "
             "{most_per_cm2:2} a square centimetre are left[, of those wider than "
             "{smallest_mm:3}|]."},
    Sentence{finish_more_work,
             "On the {face} face, {zone} (x = {from_x_mm:0n} to {to_x_mm:0}): scratches left "
             "{scratches:0}, {per_cm2:2} a square centimetre. Stay at this grit there until none "
             "is left."},
    Sentence{finish_sand_next,
             "Sand the {face} face next at {angle_deg:0} degrees to the edge, {way}: then what is "
             "left of the old scratches runs across the new ones and shows."},
};

constexpr std::string_view phrase_text(std::string_view name) {
  for (const Phrase& phrase : kPhrases) {
    if (phrase.name == name) return phrase.text;
  }
  return "{no such phrase}";
}

/// Whether a text says only values of a kind, each as what it is; marks those that it says. What
/// may be missing must stand in brackets.
class SaidValues {
 public:
  constexpr explicit SaidValues(const RemarkKind& kind) : kind_(kind) {}

  constexpr bool takes(std::string_view text, std::string_view prefix) {
    bool choice = false;
    for (std::size_t i = 0; i < text.size(); ++i) {
      if (text[i] == '[' || text[i] == ']') choice = text[i] == '[';
      if (text[i] != '{') continue;
      const std::size_t close = text.find('}', i);
      if (!takes_slot(text.substr(i + 1, close - i - 1), prefix, choice)) return false;
      i = close;
    }
    return !choice;
  }

  constexpr bool all() const {
    for (std::size_t i = 0; i < kind_.count(); ++i) {
      if (!said_[i]) return false;
    }
    return true;
  }

 private:
  constexpr bool takes_slot(std::string_view braces, std::string_view prefix, bool choice) {
    if (braces.starts_with('@')) {
      const PhraseUse use = phrase_use(braces);
      return !choice && prefix.empty() && takes(phrase_text(use.name), use.prefix);
    }
    const Slot slot = slot_of(braces);
    return takes_value(slot.name, prefix, slot.number, choice) &&
           (slot.U95_name.empty() || takes_value(slot.U95_name, prefix, true, choice));
  }

  constexpr bool takes_value(std::string_view name, std::string_view prefix, bool number,
                             bool choice) {
    for (std::size_t i = 0; i < kind_.count(); ++i) {
      const RemarkKind::Value& value = kind_.values[i];
      if (!is_called(value.name, prefix, name)) continue;
      said_[i] = true;
      return value.number == number && (value.needed || choice);
    }
    return choice;  // an alternative that this kind never says
  }

  const RemarkKind& kind_;
  std::array<bool, RemarkKind::kMostValues> said_ = {};
};

constexpr bool says_its_values(const Sentence& sentence) {
  SaidValues said(kind_of(sentence.code));
  return said.takes(sentence.text, "") && said.all();
}

/// One constant each: a compiler counts the steps that a constant takes.
template <std::size_t i>
constexpr bool kSays = kSentences[i].code == kKinds[i].code&& says_its_values(kSentences[i]);

template <std::size_t... i>
constexpr bool all_say(std::index_sequence<i...> /*all*/) {
  return (kSays<i> && ...);
}
static_assert(kSentences.size() == kKinds.size() &&
                  all_say(std::make_index_sequence<kSentences.size()>()),
              "a code without its sentence, or a sentence without a value of its code");

}  // namespace

std::string_view phrase_of(std::string_view name) { return phrase_text(name); }

std::string_view sentence_of(RemarkCode code) {
  return kSentences[static_cast<std::size_t>(code)].text;
}

}  // namespace evenbevel::words
