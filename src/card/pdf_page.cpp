#include "pdf_page.hpp"

#include <stdexcept>

#include <cairo-pdf.h>

#include "evenbevel/units.hpp"

namespace evenbevel {
std::string pdf_page(const Eigen::Vector2d& size_mm, const std::string& title,
                     const std::function<void(Pen&)>& draw) {
  constexpr double kPointsPerMm = 72.0 / kMmPerInch;
  std::string out;
  const Eigen::Vector2d size = kPointsPerMm * size_mm;
  const Surface surface(cairo_pdf_surface_create_for_stream(append_to, &out, size.x(), size.y()),
                        cairo_surface_destroy);
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_TITLE, title.c_str());
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_CREATE_DATE,
                                 "2025-01-01T00:00:00Z");
  {
    Pen pen(surface.get(), kPointsPerMm, false);
    draw(pen);
  }
  cairo_surface_finish(surface.get());
  const cairo_status_t status = cairo_surface_status(surface.get());
  if (status != CAIRO_STATUS_SUCCESS) {
    throw std::runtime_error("drawing " + title + ": " + cairo_status_to_string(status));
  }
  return out;
}

}  // namespace evenbevel
