#pragma once

// What light, tone curve, sharpening and a border's own structure do to a border as the picture
// draws it, beyond the scatter of its readings: standard uncertainties, type B (JCGM 100, 4.3), one
// table for all views. In px of the photo, Gaussian sigma, unless a line says otherwise; a view
// carries them to mm by its own px/mm. Each names what it is of and what set it:
//   scenes      random scenes of known geometry by the tests' renderer (tests/support), by
//               comparison of what was read with the truth; the bench named remakes such a
//               comparison
//   samples     the sample photos, which POV-Ray has made, and their truth
//   by eye      seen in photos and scenes, no experiment kept
// None of them is remade by its bench as a number: a bench shows whether intervals hold with it.
namespace evenbevel::light_bias {

/// Edge view, from above (scenes: bench_random_scenes).
namespace edge {
inline constexpr double kRim = 0.06;         ///< A rim of the flats against the opposite one.
inline constexpr double kCarriedRim = 0.12;  ///< One on the ricasso only: nothing averages out.
inline constexpr double kInner = 0.03;       ///< Middle of two lines, or of a land.
inline constexpr double kWidth = 0.30;       ///< Distance of opposite borders: both move outward.
inline constexpr double kGap = 0.22;         ///< Of the middles of two lines, which look alike.
inline constexpr double kDyeOnly = 0.15;     ///< Flats' middle in the dye's channel alone.
inline constexpr double kRimTilt = 0.04;     ///< A rim along the ricasso, from end to end.
inline constexpr double kBend = 0.1;         ///< A rim here and not there, of a bow (by eye).
inline constexpr double kModel = 0.6;  ///< More, times the inner fit's residual over contrast.
/// More, times the clipped share squared (samples: four of them at 3 to 4 times the light).
inline constexpr double kClipped = 0.6;
inline constexpr double kClippedWidth = 0.9;  ///< More of a width, times the clipped share.
/// Up to this blur, px, the above hold; a slope of brightness beside a border moves it by the
/// blur's square (by the model of a blurred step on a slope).
inline constexpr double kSharpBlur = 1.2;
/// Beside a surface past the camera's range only the foot of the blurred border is seen, where lens
/// and sharpening are no Gaussian: off by this share of the blur's sigma an e-fold (a step 50 times
/// the range, seen at its clipped end, by one sigma).
inline constexpr double kPastRangeBlurs = 0.25;
}  // namespace edge

/// Side view, a face (scenes: bench_side_scenes; samples).
namespace side {
inline constexpr double kBevelLine = 0.65;
inline constexpr double kOutline = 0.25;     ///< Off by 0.08 RMS; more where blown out.
inline constexpr double kPlungeLine = 0.9;   ///< A crease is softer than an outline.
inline constexpr double kCreaseRad = 0.008;  ///< Of a crease along its length, rad.
inline constexpr double kCurveShare = 0.06;  ///< Of a plunge line's radius, times the radius.
inline constexpr double kUsualBlur = 1.0;  ///< In a softer picture, px, they move as much further.
}  // namespace side

/// Choil view, a section (scenes: bench_choil_scenes).
namespace choil {
inline constexpr double kWidth = 0.15;   ///< Distance of the two borders: both move outward alike.
inline constexpr double kMiddle = 0.06;  ///< Their middle.
inline constexpr double kFlats = 0.4;    ///< Distance of the flats, in the jaws' shadow.
inline constexpr double kDrift = 0.16;   ///< A border against itself, from end to end of the range.
inline constexpr double kCorner = 0.2;   ///< Of a land: the band that ends there sees beyond it.
inline constexpr double kClipped = 0.9;  ///< More of the first, times the clipped share.
}  // namespace choil

}  // namespace evenbevel::light_bias
