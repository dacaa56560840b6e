#include "refusals.hpp"

#include <algorithm>
#include <cstring>
#include <string>

#include <opencv2/core.hpp>

#include "evenbevel/error.hpp"

namespace evenbevel::finish {
namespace {

bool same_pixels(const cv::Mat& a, const cv::Mat& b) {
  if (a.size() != b.size() || a.type() != b.type()) return false;
  for (int row = 0; row < a.rows; ++row) {
    if (std::memcmp(a.ptr(row), b.ptr(row), a.elemSize() * static_cast<std::size_t>(a.cols)) != 0)
      return false;
  }
  return true;
}

}  // namespace

void require_photos(std::span<const FinishPhoto> photos) {
  constexpr std::ptrdiff_t kMost = 8;
  if (photos.empty()) throw Error("no photo was given", "give two to four photos of a face");
  for (const Face face : {Face::left, Face::right}) {
    const auto count = std::count_if(photos.begin(), photos.end(),
                                     [&](const FinishPhoto& photo) { return photo.face == face; });
    if (count > kMost) {
      throw Error(std::to_string(count) + " photos of the " + std::string(name(face)) +
                      " face were given, at most " + std::to_string(kMost) + " are taken",
                  "four lamp places 45 degrees apart show scratches of every direction");
    }
  }
  for (std::size_t i = 0; i < photos.size(); ++i) {
    for (std::size_t k = 0; k < i; ++k) {
      if (!same_pixels(photos[i].photo->pixels, photos[k].photo->pixels)) continue;
      throw Error("the same photo was given twice: " + photos[k].photo->name + " and " +
                      photos[i].photo->name + " do not differ",
                  "move the lamp by an eighth of a turn round the blade before the next photo");
    }
  }
}

void require_still(double moved_mm, const Photo& first, const Photo& other) {
  constexpr double kMostMm = 0.6;  // Raking light moves an outline by a few tenths.
  if (moved_mm <= kMostMm) return;
  throw Error("the blade lies " + length_words(moved_mm, 1) + " further on in " + other.name +
                  " than in " + first.name,
              "let blade and card lie, move the lamp alone, and take the photos again");
}

}  // namespace evenbevel::finish
