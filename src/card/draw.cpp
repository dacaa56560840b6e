#include <cmath>
#include <fstream>
#include <memory>
#include <stdexcept>
#include <string>
#include <system_error>

#include <cairo-svg.h>
#include <unistd.h>

#include "draw_page.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/practice_strip.hpp"
#include "evenbevel/units.hpp"
#include "pdf_page.hpp"
#include "png.hpp"
#include "units/own_file.hpp"

namespace evenbevel {
namespace {

constexpr double kPngDotsPerMm = 600.0 / kMmPerInch;
void require_ok(cairo_surface_t* surface) {
  const cairo_status_t status = cairo_surface_status(surface);
  if (status != CAIRO_STATUS_SUCCESS) {
    throw std::runtime_error(std::string("drawing a card: ") + cairo_status_to_string(status));
  }
}

std::string as_pdf(const Drawing& drawing) {
  return pdf_page(drawing.page.size_mm, "evenbevel " + drawing.text.title,
                  [&drawing](Pen& pen) { draw_page(pen, drawing); });
}

std::string as_svg(const Drawing& drawing) {
  std::string out;
  const Eigen::Vector2d& size = drawing.page.size_mm;
  const Surface surface(cairo_svg_surface_create_for_stream(append_to, &out, size.x(), size.y()),
                        cairo_surface_destroy);
  cairo_svg_surface_set_document_unit(surface.get(), CAIRO_SVG_UNIT_MM);
  {
    Pen pen(surface.get(), 1.0, false);
    draw_page(pen, drawing);
  }
  cairo_surface_finish(surface.get());
  require_ok(surface.get());
  const std::size_t first_line = out.find('\n') + 1;
  return out.insert(first_line, "<!-- Drawn by evenbevel. -->\n");
}

std::string as_png(const Drawing& drawing) {
  const Eigen::Vector2d size = kPngDotsPerMm * drawing.page.size_mm;
  const int width = static_cast<int>(std::lround(size.x()));
  const int height = static_cast<int>(std::lround(size.y()));
  const Surface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height),
                        cairo_surface_destroy);
  require_ok(surface.get());
  {
    Pen pen(surface.get(), kPngDotsPerMm, true);
    draw_page(pen, drawing);
  }
  cairo_surface_flush(surface.get());
  require_ok(surface.get());
  return encode_png({cairo_image_surface_get_data(surface.get()), width, height,
                     cairo_image_surface_get_stride(surface.get())},
                    kPngDotsPerMm);
}

bool write_bytes(const std::filesystem::path& path, const std::string& bytes) {
  std::ofstream file(path, std::ios::binary);
  file.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  file.close();
  return !file.fail();
}

bool write_and_rename(const std::filesystem::path& path, const std::string& bytes) {
  std::filesystem::path temporary = path;
  temporary += std::to_string(getpid()) + ".part";
  std::error_code failure;
  bool written = write_bytes(temporary, bytes);
  if (written) std::filesystem::rename(temporary, path, failure);
  written = written && !failure;
  if (!written) std::filesystem::remove(temporary, failure);
  return written;
}

void write_whole(const std::filesystem::path& path, const std::string& bytes) {
  std::error_code failure;
  const std::filesystem::file_status status = std::filesystem::status(path, failure);
  // A pipe or a device must be written to; a rename would put a file in its place.
  const bool in_place = std::filesystem::exists(status) &&
                        !std::filesystem::is_regular_file(status) &&
                        !std::filesystem::is_directory(status);
  const bool folder = std::filesystem::is_directory(status);
  if (!in_place) require_own_file(path, bytes);
  if (!folder && (in_place ? write_bytes(path, bytes) : write_and_rename(path, bytes))) return;
  throw Error("the card cannot be written to " + path.string(),
              "name a file in a folder that exists and may be written to, on a disk with room");
}

void write_drawing(const Drawing& drawing, CardFormat format, const std::filesystem::path& path) {
  switch (format) {
    case CardFormat::pdf:
      return write_whole(path, as_pdf(drawing));
    case CardFormat::svg:
      return write_whole(path, as_svg(drawing));
    case CardFormat::png:
      return write_whole(path, as_png(drawing));
  }
}

}  // namespace

void draw_card(CardKind kind, Sheet sheet, CardFormat format, const std::filesystem::path& path) {
  const CardPage page = card_page(kind, sheet);
  const CardText text = card_text(kind);
  write_drawing({card_layout(kind), page, text}, format, path);
}

void draw_practice_card(Sheet sheet, CardFormat format, const std::filesystem::path& path) {
  const CardPage page = card_page(CardKind::edge, sheet);
  const CardText text = practice_text();
  const PracticeStrip strip;
  write_drawing({card_layout(CardKind::edge), page, text, &strip}, format, path);
}

}  // namespace evenbevel
