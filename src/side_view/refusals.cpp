#include "refusals.hpp"

#include <string>

#include <opencv2/imgproc.hpp>

#include "evenbevel/error.hpp"

namespace evenbevel::side {
namespace {

constexpr double kSureOfSpine = 0.3;

/// Up the spine when the tip points to the right hand: +1 for a left-handed look at the card.
double hand(const RoughBlade& blade) {
  return blade.along.x() * blade.up.y() - blade.along.y() * blade.up.x();
}

std::string named(Face face) { return face == Face::left ? "left" : "right"; }

/// The two pictures differ by less than noise, far less than two shots of the same thing.
bool alike(const cv::Mat& first, const cv::Mat& second) {
  constexpr double kMostCodes = 0.7;
  if (first.size() != second.size() || first.type() != second.type()) return false;
  if (first.data == second.data) return true;
  const cv::Size small(96, 72);
  cv::Mat a, b;
  cv::resize(first, a, small, 0, 0, cv::INTER_AREA);
  cv::resize(second, b, small, 0, 0, cv::INTER_AREA);
  const double full = first.depth() == CV_8U ? 1.0 : 257.0;
  const double difference =
      cv::norm(a, b, cv::NORM_L1) / (full * static_cast<double>(a.total()) * a.channels());
  return difference < kMostCodes;
}

}  // namespace

std::optional<Face> face_of(const RoughBlade& blade) {
  if (blade.spine_sure < kSureOfSpine) return std::nullopt;
  return hand(blade) < 0.0 ? Face::left : Face::right;
}

RoughBlade facing(const RoughBlade& blade, Face face) {
  const double wanted = face == Face::left ? -1.0 : 1.0;
  if (hand(blade) * wanted > 0.0) return blade;
  if (blade.spine_sure < kSureOfSpine) {
    RoughBlade other = blade;
    other.handle_mm = blade.handle_mm + blade.height_mm * blade.up;
    other.up = -blade.up;
    return other;
  }
  const bool left = face == Face::left;
  throw Error("the photo given for the " + named(face) + " face shows the " +
                  named(left ? Face::right : Face::left) +
                  " one: with the spine up the tip points " + (left ? "right" : "left") +
                  ", on the " + named(face) + " face it points " + (left ? "left" : "right"),
              "swap the photos of --left and --right; left and right are the knife's, held edge "
              "down with the tip away from you");
}

void require_photos(std::span<const FacePhoto> photos) {
  if (photos.empty()) {
    throw Error("no photo was given", "give a photo of the left face, of the right one, or both");
  }
  if (photos.size() > 2 || (photos.size() == 2 && photos[0].face == photos[1].face)) {
    throw Error("one photo a face is measured, " + std::to_string(photos.size()) + " were given",
                "give one photo of the left face and one of the right");
  }
  if (photos.size() == 2 && alike(photos[0].photo->pixels, photos[1].photo->pixels)) {
    throw Error("the same photo was given for both faces: " + photos[0].photo->name + " and " +
                    photos[1].photo->name + " do not differ",
                "give one photo of the left face and one of the right");
  }
}

void require_settings(const SideSettings& settings) {
  constexpr double kThinnestMm = 0.3, kThickestMm = 15.0;
  if (!(settings.thickness_mm >= kThinnestMm && settings.thickness_mm <= kThickestMm)) {
    throw Error("a stock thickness of " + length_words(settings.thickness_mm, 6) +
                    " is not that of a blade",
                "give the thickness by micrometer, with its unit, for example 3.2mm or 0.125in");
  }
  if (settings.tip_thickness_mm && (*settings.tip_thickness_mm <= 0.0 ||
                                    *settings.tip_thickness_mm > settings.thickness_mm + 0.05)) {
    throw Error("the thickness at the tip, " + length_words(*settings.tip_thickness_mm, 6) +
                    ", does not lie between 0 and the stock's",
                "measure it at the spine beside the tip, and write the unit with it");
  }
  if (settings.land_mm && (*settings.land_mm < 0.0 || *settings.land_mm > settings.thickness_mm)) {
    throw Error("a land of " + length_words(*settings.land_mm, 6) +
                    " does not fit into the stock's thickness",
                "measure the edge's thickness, and write the unit with it");
  }
}

}  // namespace evenbevel::side
