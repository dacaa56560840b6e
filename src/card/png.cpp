#include "png.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <memory>
#include <stdexcept>
#include <vector>

#include <png.h>

namespace evenbevel {
namespace {

constexpr std::size_t kMostColours = 16;

std::uint32_t pixel(const DrawnPixels& pixels, int x, int y) {
  std::uint32_t value = 0;
  std::memcpy(&value, pixels.data + static_cast<std::ptrdiff_t>(y) * pixels.stride + 4L * x, 4);
  return value & 0xFFFFFFU;
}

std::vector<std::uint32_t> colours_of(const DrawnPixels& pixels) {
  std::vector<std::uint32_t> colours;
  std::uint32_t last = 0xFFFFFFFFU;
  for (int y = 0; y < pixels.height; ++y) {
    for (int x = 0; x < pixels.width; ++x) {
      const std::uint32_t colour = pixel(pixels, x, y);
      if (colour == last) continue;
      last = colour;
      if (std::find(colours.begin(), colours.end(), colour) == colours.end()) {
        colours.push_back(colour);
      }
      if (colours.size() > kMostColours) throw std::logic_error("too many colours on a card");
    }
  }
  return colours;
}

int bits_for(std::size_t colours) { return colours <= 2 ? 1 : colours <= 4 ? 2 : 4; }

std::vector<png_byte> packed_row(const DrawnPixels& pixels, int y,
                                 const std::vector<std::uint32_t>& colours) {
  const int bits = bits_for(colours.size());
  std::vector<png_byte> row(static_cast<std::size_t>((pixels.width * bits + 7) / 8), 0);
  for (int x = 0; x < pixels.width; ++x) {
    const auto found = std::find(colours.begin(), colours.end(), pixel(pixels, x, y));
    const auto index = static_cast<unsigned>(found - colours.begin());
    const int shift = 8 - bits - (x * bits) % 8;
    png_byte& byte = row[static_cast<std::size_t>(x * bits / 8)];
    byte = static_cast<png_byte>(byte | (index << shift));
  }
  return row;
}

[[noreturn]] void fail(png_structp, png_const_charp message) { throw std::runtime_error(message); }

void append(png_structp png, png_bytep bytes, png_size_t count) {
  auto* out = static_cast<std::string*>(png_get_io_ptr(png));
  out->append(reinterpret_cast<const char*>(bytes), count);
}

struct Writer {
  png_structp png = nullptr;
  png_infop info = nullptr;

  Writer() {
    png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, fail, nullptr);
    if (png != nullptr) info = png_create_info_struct(png);
    if (info == nullptr) throw std::bad_alloc();
  }
  Writer(const Writer&) = delete;
  Writer& operator=(const Writer&) = delete;
  ~Writer() { png_destroy_write_struct(&png, &info); }
};

std::vector<png_color> palette_of(const std::vector<std::uint32_t>& colours) {
  std::vector<png_color> palette;
  palette.reserve(colours.size());
  for (const std::uint32_t colour : colours) {
    palette.push_back({static_cast<png_byte>(colour >> 16), static_cast<png_byte>(colour >> 8),
                       static_cast<png_byte>(colour)});
  }
  return palette;
}

}  // namespace

std::string encode_png(const DrawnPixels& pixels, double pixels_per_mm) {
  const std::vector<std::uint32_t> colours = colours_of(pixels);
  const std::vector<png_color> palette = palette_of(colours);
  std::string out;
  const Writer writer;
  png_set_write_fn(writer.png, &out, append, nullptr);
  png_set_compression_level(writer.png, 9);
  png_set_IHDR(writer.png, writer.info, static_cast<png_uint_32>(pixels.width),
               static_cast<png_uint_32>(pixels.height), bits_for(colours.size()),
               PNG_COLOR_TYPE_PALETTE, PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
               PNG_FILTER_TYPE_DEFAULT);
  png_set_PLTE(writer.png, writer.info, palette.data(), static_cast<int>(palette.size()));
  const auto per_metre = static_cast<png_uint_32>(std::lround(1000.0 * pixels_per_mm));
  png_set_pHYs(writer.png, writer.info, per_metre, per_metre, PNG_RESOLUTION_METER);
  std::string keyword = "Software", maker = "evenbevel";
  png_text text{};
  text.compression = PNG_TEXT_COMPRESSION_NONE;
  text.key = keyword.data();
  text.text = maker.data();
  png_set_text(writer.png, writer.info, &text, 1);
  png_write_info(writer.png, writer.info);
  for (int y = 0; y < pixels.height; ++y) {
    png_write_row(writer.png, packed_row(pixels, y, colours).data());
  }
  png_write_end(writer.png, writer.info);
  return out;
}

}  // namespace evenbevel
