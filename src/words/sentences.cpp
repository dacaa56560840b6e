#include "words/sentences.hpp"

#include <algorithm>

namespace evenbevel::words {
namespace {

// In braces the values: words as they are, numbers with their decimals after the colon. A number
// whose name ends in _mm is a length, said in the unit asked for and with it ("n": without).
struct Sentence {
  RemarkCode code;
  std::string_view text;
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
             "{stage} (--stage if not)."},
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
};

/// Whether the sentence says every value of its kind, each as what it is, and no other.
constexpr bool says_its_values(const Sentence& sentence) {
  const RemarkKind& kind = kind_of(sentence.code);
  std::array<bool, RemarkKind::kMostValues> said = {};
  std::string_view rest = sentence.text;
  for (std::size_t open = rest.find('{'); open != std::string_view::npos; open = rest.find('{')) {
    rest.remove_prefix(open + 1);
    const Slot slot = slot_of(rest.substr(0, rest.find('}')));
    bool known = false;
    for (std::size_t i = 0; i < kind.count(); ++i) {
      if (kind.values[i].name != slot.name || kind.values[i].number != slot.number) continue;
      known = said[i] = true;
    }
    if (!known) return false;
  }
  return static_cast<std::size_t>(std::count(said.begin(), said.end(), true)) == kind.count();
}

constexpr bool complete() {
  for (std::size_t i = 0; i < kSentences.size(); ++i) {
    if (kSentences[i].code != kKinds[i].code || !says_its_values(kSentences[i])) return false;
  }
  return kSentences.size() == kKinds.size();
}
static_assert(complete(), "a code without its sentence, or a sentence without a value of its code");

}  // namespace

std::string_view sentence_of(RemarkCode code) {
  return kSentences[static_cast<std::size_t>(code)].text;
}

}  // namespace evenbevel::words
