#include "bench/measure_job.hpp"

#include <algorithm>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "bench/phone_words.hpp"
#include "evenbevel/error.hpp"

namespace evenbevel::bench {
namespace {

namespace fs = std::filesystem;

std::optional<double> known_fact(const KnifeFacts& known, KnifeFact fact) {
  const auto found = known.find(fact);
  return found == known.end() ? std::nullopt : std::optional(found->second);
}

/// One bench's settings, made into each view's.
class Settled {
 public:
  explicit Settled(const Order& order)
      : settings_(order.settings),
        set_up_(order.set_up),
        known_(order.known),
        of_shop_(order.of_shop) {}

  ReportSettings edge_report() const {
    ReportSettings report = common(settings_.edge_card);
    add_thickness(report);
    add_tolerance(report);
    add_land(report);
    return report;
  }

  ReportSettings side_report() const {
    ReportSettings report = common(settings_.side_card);
    add_thickness(report);
    add_tolerance(report);
    return report;
  }

  /// Its tolerance counts scratches: the shop's, a length, is none.
  ReportSettings finish_report() const {
    ReportSettings report = common(settings_.side_card);
    add_thickness(report);
    return report;
  }

  ReportSettings section_report() const {
    ReportSettings report = common(settings_.heel_card);
    add_thickness(report);
    add_tolerance(report);
    return report;
  }

  ReportSettings practice_report() const { return common({}); }

 private:
  ReportSettings common(const BenchCard& card) const {
    ReportSettings report{.unit = settings_.unit, .command_line = settings_.command_line};
    report.from.add_text("display_unit", settings_.unit_from);
    report.from.add_text("printed_bar", card.from);
    return report;
  }

  void add_thickness(ReportSettings& report) const {
    if (!set_up_.thickness_mm) return;
    const bool of_knife = known_fact(known_, KnifeFact::thickness) == set_up_.thickness_mm;
    report.from.add_text("thickness", of_knife ? "knife" : "option");
  }

  const char* source_of(KnifeFact fact, const std::optional<double>& mm) const {
    if (known_fact(known_, fact) == mm) return "knife";
    return known_fact(of_shop_, fact) == mm ? "shop.toml" : "option";
  }

  void add_tolerance(ReportSettings& report) const {
    report.tolerance_mm = set_up_.tolerance_mm;
    const std::optional<KnifeFact> by = kind_of(set_up_.view).judged.by;
    if (!by || !report.tolerance_mm) return;
    report.from.add_text("tolerance", source_of(*by, report.tolerance_mm));
  }

  void add_land(ReportSettings& report) const {
    report.wanted_land_mm = known_fact(known_, KnifeFact::land);
    if (!report.wanted_land_mm) report.wanted_land_mm = known_fact(of_shop_, KnifeFact::land);
    if (!report.wanted_land_mm) return;
    report.from.add_text("land", source_of(KnifeFact::land, report.wanted_land_mm));
  }

  const BenchSettings& settings_;
  const SetUp& set_up_;
  const KnifeFacts& known_;
  const KnifeFacts& of_shop_;
};

std::vector<Photo> photos_of(const Order& order) {
  std::vector<Photo> photos;
  for (const BenchPhoto& photo : order.photos) photos.push_back(read_bench_photo(photo));
  return photos;
}

/// The bench's own camera has no EXIF: its camera file is the one that the maker named.
ChosenCamera camera_of(const Order& order, std::span<Photo> photos) {
  const bool live = std::ranges::all_of(order.photos, &BenchPhoto::live);
  if (live) return find_or_guess_camera(photos, order.live_camera_file, PhotoSource::live);
  return find_or_guess_camera(photos, "", PhotoSource::file);
}

Settled settled(const Order& order) { return Settled(order); }

FaceToMeasure face_of(const Order& order, const BenchPhoto& photo, Face shown) {
  FaceToMeasure face{shown, read_bench_photo(photo), {}};
  face.camera = find_or_guess_camera(std::span(&face.photo, 1),
                                     photo.live ? order.live_camera_file : std::string(),
                                     photo.live ? PhotoSource::live : PhotoSource::file);
  return face;
}

/// One face, the lamp moved between its photos.
Written measure_finish_of(const Order& order, Face shown, const fs::path& folder) {
  std::vector<FaceToMeasure> photos;
  for (const BenchPhoto& photo : order.photos) photos.push_back(face_of(order, photo, shown));
  FinishSettings finish;
  finish.thickness_mm = order.set_up.thickness_mm;
  finish.print = order.settings.side_card.print;
  return measure_finish(photos, finish, settled(order).finish_report(), folder);
}

}  // namespace

Photo read_bench_photo(const BenchPhoto& bench_photo) {
  try {
    Photo photo = read_photo(bench_photo.file);
    photo.name = bench_photo.file.filename().string();
    return photo;
  } catch (const Error& e) {
    throw Error(replaced(e, bench_photo.file.string(), "the photo"));
  }
}

Written measure_edges_on_bench(const Order& order, const fs::path& folder) {
  std::vector<Photo> photos = photos_of(order);
  const ChosenCamera camera = camera_of(order, photos);
  EdgeSettings edge;
  edge.thickness_mm = order.set_up.thickness_mm.value_or(0.0);
  edge.print = order.settings.edge_card.print;
  edge.tip = order.answers.tip;
  edge.stage = order.answers.shows;
  const std::span<const Photo> all(photos);
  return measure_edge({all.first(1), all.subspan(1)}, camera, edge, settled(order).edge_report(),
                      folder);
}

Written measure_faces_on_bench(const Order& order, const fs::path& folder) {
  std::vector<FaceToMeasure> faces;
  for (const BenchPhoto& photo : order.photos) {
    faces.push_back(face_of(order, photo, faces.empty() ? Face::left : Face::right));
  }
  SideSettings side;
  side.thickness_mm = order.set_up.thickness_mm.value_or(0.0);
  side.print = order.settings.side_card.print;
  return measure_faces(faces, side, settled(order).side_report(), folder);
}

Written measure_left_finish_on_bench(const Order& order, const fs::path& folder) {
  return measure_finish_of(order, Face::left, folder);
}

Written measure_right_finish_on_bench(const Order& order, const fs::path& folder) {
  return measure_finish_of(order, Face::right, folder);
}

Written measure_section_on_bench(const Order& order, const fs::path& folder) {
  std::vector<Photo> photos = photos_of(order);
  const ChosenCamera camera = camera_of(order, photos);
  ChoilSettings section;
  section.thickness_mm = order.set_up.thickness_mm;
  section.print = order.settings.heel_card.print;
  return measure_section(photos.front(), camera, section, settled(order).section_report(), folder);
}

Written measure_practice_on_bench(const Order& order, const fs::path& folder) {
  std::vector<Photo> photos = photos_of(order);
  const ChosenCamera camera = camera_of(order, photos);
  return measure_practice(photos.front(), camera, {}, settled(order).practice_report(), folder);
}

}  // namespace evenbevel::bench
