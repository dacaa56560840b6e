#include "heic_maker.hpp"

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace evenbevel::test {
namespace {

heif_image* as_heif(const cv::Mat& bgr, int bits) {
  cv::Mat rgb;
  cv::cvtColor(bgr, rgb, cv::COLOR_BGR2RGB);
  if (bits > 8) rgb.convertTo(rgb, CV_16U, ((1 << bits) - 1) / 65535.0);
  heif_image* image = nullptr;
  heif_image_create(bgr.cols, bgr.rows, heif_colorspace_RGB,
                    bits > 8 ? heif_chroma_interleaved_RRGGBB_LE : heif_chroma_interleaved_RGB,
                    &image);
  heif_image_add_plane(image, heif_channel_interleaved, bgr.cols, bgr.rows, bits);
  int step = 0;
  uchar* plane = heif_image_get_plane(image, heif_channel_interleaved, &step);
  rgb.copyTo(cv::Mat(rgb.size(), rgb.type(), plane, static_cast<std::size_t>(step)));
  return image;
}

}  // namespace

bool write_heic(const std::filesystem::path& path, const cv::Mat& bgr, heif_orientation orientation,
                const std::string& exif, int bits, int quality) {
  heif_context* context = heif_context_alloc();
  heif_encoder* encoder = nullptr;
  if (heif_context_get_encoder_for_format(context, heif_compression_HEVC, &encoder).code !=
      heif_error_Ok) {
    heif_context_free(context);
    return false;
  }
  heif_encoder_set_lossy_quality(encoder, quality);
  heif_encoder_set_parameter_string(encoder, "preset", "ultrafast");  // a photo takes 9 s without
  heif_encoding_options* options = heif_encoding_options_alloc();
  options->image_orientation = orientation;
  heif_image* image = as_heif(bgr, bits);
  heif_image_handle* handle = nullptr;
  const heif_error coded = heif_context_encode_image(context, image, encoder, options, &handle);
  const bool done = coded.code == heif_error_Ok;
  if (done && !exif.empty()) {
    heif_context_add_exif_metadata(context, handle, exif.data(), static_cast<int>(exif.size()));
  }
  const bool written =
      done && heif_context_write_to_file(context, path.c_str()).code == heif_error_Ok;
  if (handle != nullptr) heif_image_handle_release(handle);
  heif_image_release(image);
  heif_encoding_options_free(options);
  heif_encoder_release(encoder);
  heif_context_free(context);
  return written;
}

}  // namespace evenbevel::test
