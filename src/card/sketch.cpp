#include "draw_page.hpp"

namespace evenbevel {
namespace {

constexpr double kThin_mm = 0.25;
const TextStyle kLabel{2.6, Weight::normal, kBlack};

// Draws in mm from the sketch's own top left corner.
struct Sketch {
  Pen& pen;
  Eigen::Vector2d origin_mm;

  void box(double x, double y, double width, double height, Ink ink) const {
    pen.boxes({{origin_mm.x() + x, origin_mm.y() + y, width, height}}, ink);
  }
  void line(double x0, double y0, double x1, double y1, Ink ink = kBlack, double dash = 0.0) const {
    pen.line(origin_mm + Eigen::Vector2d(x0, y0), origin_mm + Eigen::Vector2d(x1, y1), kThin_mm,
             ink, dash);
  }
  void shape(std::vector<Eigen::Vector2d> outline, Ink ink) const {
    for (Eigen::Vector2d& corner : outline) corner += origin_mm;
    pen.shape(outline, ink);
  }
  void label(const char* words, double x, double y, bool right = false) const {
    pen.text(words, origin_mm + Eigen::Vector2d(x, y), kLabel, right);
  }
  void frame(double x, double y, double width, double height) const {
    line(x, y, x + width, y);
    line(x + width, y, x + width, y + height);
    line(x + width, y + height, x, y + height);
    line(x, y + height, x, y);
  }
};

}  // namespace

void sketch_edge_slot(Pen& pen, const Eigen::Vector2d& top_left_mm) {
  const Sketch sketch{pen, top_left_mm};
  sketch.frame(0.0, 2.0, 70.0, 20.0);
  sketch.box(2.5, 9.5, 65.0, 5.0, kLaneGreen);
  sketch.box(5.0, 11.0, 65.2, 2.0, kWhite);
  sketch.line(5.0, 11.0, 70.0, 11.0);
  sketch.line(5.0, 13.0, 70.0, 13.0);
  sketch.line(5.0, 11.0, 5.0, 13.0);
  sketch.line(62.0, 12.0, 76.0, 12.0, kGrey);
  sketch.label("slot, 8 mm wide,", 77.0, 11.6);
  sketch.label("open at this end", 77.0, 15.1);
  sketch.line(2.5, 15.5, 2.5, 24.5, kGrey);
  sketch.line(5.0, 13.5, 5.0, 24.5, kGrey);
  sketch.label("10 mm left uncut", 6.5, 25.4);
}

void sketch_edge_setup(Pen& pen, const Eigen::Vector2d& top_left_mm) {
  const Sketch sketch{pen, top_left_mm};
  sketch.box(10.0, 22.0, 18.5, 14.0, kGrey);  // jaws
  sketch.box(31.5, 22.0, 18.5, 14.0, kGrey);
  sketch.shape({{28.5, 36.0}, {28.5, 18.4}, {29.9, 16.6}, {30.1, 16.6}, {31.5, 18.4}, {31.5, 36.0}},
               kBlack);                      // blade
  sketch.box(4.0, 20.7, 22.0, 1.3, kBlack);  // card
  sketch.box(34.0, 20.7, 22.0, 1.3, kBlack);
  sketch.box(26.0, 0.5, 8.0, 4.0, kBlack);  // camera
  sketch.shape({{28.5, 4.5}, {31.5, 4.5}, {32.3, 6.3}, {27.7, 6.3}}, kBlack);
  sketch.line(30.0, 7.0, 30.0, 15.8, kGrey, 1.0);
  sketch.label("camera, 200 to 400 mm above", 36.5, 5.0);
  sketch.line(31.0, 17.0, 60.0, 14.6, kGrey);
  sketch.label("edge, 2 to 10 mm proud of the card", 61.0, 15.2);
  sketch.line(56.5, 21.3, 60.0, 20.6, kGrey);
  sketch.label("card, flat on the jaws", 61.0, 21.4);
  sketch.line(50.5, 29.5, 60.0, 28.6, kGrey);
  sketch.label("square-sided jaws", 61.0, 29.4);
}

void sketch_heel_setup(Pen& pen, const Eigen::Vector2d& top_left_mm) {
  const Sketch sketch{pen, top_left_mm};
  sketch.box(0.0, 28.0, 19.3, 12.0, kGrey);  // jaws
  sketch.box(20.7, 28.0, 19.3, 12.0, kGrey);
  sketch.frame(5.0, 0.0, 30.0, 28.0);  // card
  sketch.box(16.8, 6.2, 6.4, 22.0, kWhite);
  sketch.line(17.0, 28.0, 17.0, 6.0);
  sketch.line(17.0, 6.0, 23.0, 6.0);
  sketch.line(23.0, 6.0, 23.0, 28.0);
  sketch.shape({{19.3, 40.0}, {19.3, 27.0}, {20.0, 15.0}, {20.7, 27.0}, {20.7, 40.0}}, kBlack);
  sketch.line(20.6, 17.0, 44.0, 10.6, kGrey);
  sketch.label("blade, edge up, heel toward the camera", 45.0, 11.2);
  sketch.line(35.5, 20.5, 44.0, 19.6, kGrey);
  sketch.label("card, square on the jaws", 45.0, 20.4);
  sketch.line(40.5, 34.0, 44.0, 33.2, kGrey);
  sketch.label("jaws", 45.0, 34.0);
}

}  // namespace evenbevel
