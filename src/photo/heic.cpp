#include <array>
#include <bit>
#include <memory>

#include <libheif/heif.h>
#include <opencv2/imgproc.hpp>

#include "byte_order.hpp"
#include "decoders.hpp"
#include "exif.hpp"
#include "heif_boxes.hpp"

namespace evenbevel {
namespace {

template <auto release>
struct Release {
  template <class T>
  void operator()(T* held) const {
    release(held);
  }
};
using Context = std::unique_ptr<heif_context, Release<heif_context_free>>;
using Handle = std::unique_ptr<const heif_image_handle, Release<heif_image_handle_release>>;
using Image = std::unique_ptr<const heif_image, Release<heif_image_release>>;
using Options = std::unique_ptr<heif_decoding_options, Release<heif_decoding_options_free>>;

void require(const heif_error& result, const Photo& photo) {
  if (result.code != heif_error_Ok) reject_damaged(photo, result.message);
}

Handle primary_picture(const Context& context, std::span<const uchar> bytes, const Photo& photo) {
  require(heif_context_read_from_memory_without_copy(context.get(), bytes.data(), bytes.size(),
                                                     nullptr),
          photo);
  heif_image_handle* handle = nullptr;
  require(heif_context_get_primary_image_handle(context.get(), &handle), photo);
  return Handle(handle);
}

/// The EXIF block that libheif hands over, without the offset and header in front of it
/// (ISO/IEC 23008-12, annex A.2.1).
std::vector<uchar> exif_block(const Handle& picture) {
  heif_item_id id = 0;
  if (heif_image_handle_get_list_of_metadata_block_IDs(picture.get(), "Exif", &id, 1) != 1) {
    return {};
  }
  std::vector<uchar> block(heif_image_handle_get_metadata_size(picture.get(), id));
  if (block.size() < 4 ||
      heif_image_handle_get_metadata(picture.get(), id, block.data()).code != heif_error_Ok) {
    return {};
  }
  const std::uint64_t start = 4 + big_endian(block, 0, 4);
  if (start >= block.size()) return {};
  block.erase(block.begin(), block.begin() + static_cast<std::ptrdiff_t>(start));
  return block;
}

cv::Mat decoded(const Handle& picture, bool in_stored_grid, const Photo& photo) {
  const bool deep = heif_image_handle_get_luma_bits_per_pixel(picture.get()) > 8;
  const heif_chroma native_16 = std::endian::native == std::endian::little
                                    ? heif_chroma_interleaved_RRGGBB_LE
                                    : heif_chroma_interleaved_RRGGBB_BE;
  const Options options(heif_decoding_options_alloc());
  options->ignore_transformations = in_stored_grid ? 1 : 0;
  heif_image* raw = nullptr;
  require(heif_decode_image(picture.get(), &raw, heif_colorspace_RGB,
                            deep ? native_16 : heif_chroma_interleaved_RGB, options.get()),
          photo);
  const Image image(raw);
  int step = 0;
  const uchar* plane = heif_image_get_plane_readonly(raw, heif_channel_interleaved, &step);
  if (plane == nullptr) reject_damaged(photo, "no picture inside");
  const cv::Mat rgb(heif_image_get_height(raw, heif_channel_interleaved),
                    heif_image_get_width(raw, heif_channel_interleaved), deep ? CV_16UC3 : CV_8UC3,
                    const_cast<uchar*>(plane), static_cast<std::size_t>(step));
  cv::Mat bgr;
  cv::cvtColor(rgb, bgr, cv::COLOR_RGB2BGR);
  if (deep) {
    const int bits = heif_image_get_bits_per_pixel_range(raw, heif_channel_interleaved);
    bgr.convertTo(bgr, CV_16U, 65535.0 / ((1 << bits) - 1));
  }
  return bgr;
}

int as_orientation(int quarter_turns) {
  constexpr std::array<int, 4> kOrientation{1, 8, 3, 6};  // counter-clockwise turns
  return kOrientation[static_cast<std::size_t>(quarter_turns)];
}

}  // namespace

void decode_heic(std::span<const uchar> bytes, Photo& photo) {
  if (!heif_complete(bytes)) reject_truncated(photo);
  const Context context(heif_context_alloc());
  const Handle picture = primary_picture(context, bytes, photo);
  require_sane_size(photo, static_cast<std::uint64_t>(heif_image_handle_get_width(picture.get())),
                    static_cast<std::uint64_t>(heif_image_handle_get_height(picture.get())));
  const ExifFacts facts = read_exif(exif_block(picture));
  take_camera(facts, photo);

  // In HEIF the irot and imir boxes turn the picture; EXIF's orientation only repeats them. A pure
  // turn is kept for display, so that the pixels stay in the sensor's grid, as in the same
  // camera's JPEG. Mirrored or cropped pictures are rare: libheif applies those.
  const HeifTransforms transforms = heif_transforms(bytes);
  photo.orientation = transforms.mirror_or_crop ? 1 : as_orientation(transforms.quarter_turns);
  if (!transforms.any && facts.orientation != 1) {
    photo.warnings.push_back(remark<RemarkCode::picture_not_turned>(facts.orientation));
  }
  photo.pixels = decoded(picture, !transforms.mirror_or_crop, photo);
}

}  // namespace evenbevel
