#include "evenbevel/finish_view.hpp"

#include "lay.hpp"
#include "refusals.hpp"
#include "scratches.hpp"
#include "summary.hpp"

namespace evenbevel {
namespace {

std::array<bool, finish::kDirections> across(const Lay& lay) {
  std::array<bool, finish::kDirections> allowed{};
  for (int k = 0; k < finish::kDirections; ++k) {
    allowed[static_cast<std::size_t>(k)] =
        !lay.direction_rad ||
        between_axes(finish::direction_of(k), *lay.direction_rad) >= finish::kBesideLay;
  }
  return allowed;
}

std::vector<FinishPhoto> of_face(std::span<const FinishPhoto> photos, Face face) {
  std::vector<FinishPhoto> all;
  for (const FinishPhoto& photo : photos) {
    if (photo.face == face) all.push_back(photo);
  }
  return all;
}

void add_face(std::span<const FinishPhoto> photos, const FinishSettings& settings,
              FinishResult& result) {
  const finish::LyingFace lying = finish::read_lying_face(photos, settings);
  const finish::FlatFace flat = finish::lay_flat(lying, settings.left_out);
  const std::vector<Lay> lays = {finish::lay_of(flat, finish::kFlat),
                                 finish::lay_of(flat, finish::kBevel)};
  const finish::LineBank bank =
      finish::run_line_bank(flat, {.on_flat = across(lays[0]), .on_bevel = across(lays[1])});
  const std::vector<finish::Groove> grooves =
      finish::scratches_of(flat, lying, finish::trace_lines(bank));
  result.faces.push_back(finish::summarise(lying, flat, bank, grooves, lays, settings));
  finish::add_remarks(result.faces.back(), lying, settings, result);
}

}  // namespace

FinishResult finish_view(std::span<const FinishPhoto> photos, const FinishSettings& settings) {
  finish::require_photos(photos);
  FinishResult result;
  for (const Face face : {Face::left, Face::right}) {
    const std::vector<FinishPhoto> own = of_face(photos, face);
    if (!own.empty()) add_face(own, settings, result);
  }
  return result;
}

}  // namespace evenbevel
