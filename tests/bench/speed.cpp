// How long the program takes, against the floor (OpenCV's decoding of the same photos and encoding
// of the picture that comes of them) and against OpenCV alone; from the repository's root:
//   bench_speed tasks --benchmark_repetitions=9   as a table in Markdown
//   bench_speed growth                            by photos and by stations
// Whole processes; each row's program and floor run in turn, so that a busy machine slows both.

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <functional>
#include <iostream>
#include <optional>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include <benchmark/benchmark.h>
#include <nlohmann/json.hpp>
#include <opencv2/imgcodecs.hpp>

#include "child_run.hpp"
#include "evenbevel/camera.hpp"
#include "evenbevel/edge_view.hpp"
#include "evenbevel/photo.hpp"
#include "opencv_alone.hpp"
#include "scratch_folder.hpp"

namespace evenbevel::test {
namespace {

namespace fs = std::filesystem;
using Words = std::vector<std::string>;
using Clock = std::chrono::steady_clock;

const std::string kSamples = "sample-images/";
const std::string kPhone = "calibration/sample-phone.yml", kUsb = "calibration/sample-usb.yml";
const std::string kOwnName = fs::read_symlink("/proc/self/exe");

/// By the clock, and of the processors.
struct Taken {
  double ms = 0.0, processor_ms = 0.0;
};

Taken taken_by(const std::function<void()>& work) {
  const auto start = Clock::now();
  const std::clock_t worked = std::clock();
  work();
  const std::clock_t all_worked = std::clock();
  return {std::chrono::duration<double, std::milli>(Clock::now() - start).count(),
          1000.0 * static_cast<double>(all_worked - worked) / CLOCKS_PER_SEC};
}

Words operator+(Words left, const Words& right) {
  left.insert(left.end(), right.begin(), right.end());
  return left;
}

/// One row of the table.
struct Task {
  std::string name;
  Words command;
  Words photos;              ///< The floor decodes them,
  bool picture = true;       ///< and encodes the report's picture.
  double asked_ratio = 0.0;  ///< Of the floor; 0: not asked.
  double asked_ms = 0.0;     ///< 0: not asked.
  std::function<std::optional<double>(const fs::path& report, const std::string& said)> offset_mm =
      {};
  double true_offset_mm = 0.0;
};

/// The least that a task takes with OpenCV: its photos decoded, its picture encoded.
int floor_of(const Words& photos, const fs::path& picture) {
  const cv::Mat shown = fs::exists(picture) ? cv::imread(picture.string()) : cv::Mat();
  const Taken taken = taken_by([&] {
    for (const std::string& photo : photos)
      benchmark::DoNotOptimize(cv::imread(photo, cv::IMREAD_COLOR).data);
    std::vector<uchar> jpeg;
    if (!shown.empty()) cv::imencode(".jpg", shown, jpeg, {cv::IMWRITE_JPEG_QUALITY, 88});
  });
  std::printf("%.3f %.3f\n", taken.ms, taken.processor_ms);
  return 0;
}

/// In a process of its own: a program's peak memory would count what started it.
Taken measured_floor(const Task& task, const fs::path& picture) {
  const ChildRun run =
      run_child(Words{kOwnName, "floor", task.picture ? picture.string() : "-"} + task.photos);
  Taken taken;
  std::istringstream(run.said) >> taken.ms >> taken.processor_ms;
  return taken;
}

/// Where the command writes to.
fs::path report_of(const Task& task) {
  const auto option = std::find(task.command.begin(), task.command.end(), "-o");
  return option == task.command.end() ? fs::path() : fs::path(*(option + 1));
}

void run_task(benchmark::State& state, const Task& task) {
  for ([[maybe_unused]] auto _ : state) {
    const ChildRun run = run_child(task.command);
    if (run.exit_code != 0 && run.exit_code != 1) {
      state.SkipWithError("the program did not measure");
      return;
    }
    state.SetIterationTime(run.wall_s);
    state.counters["cpu_ms"] = 1000.0 * run.cpu_s;
    state.counters["peak_mb"] = run.peak_mb;
    const Taken floor = measured_floor(task, report_of(task) / "annotated.jpg");
    state.counters["floor_ms"] = floor.ms;
    state.counters["floor_cpu_ms"] = floor.processor_ms;
    state.counters["asked_ratio"] = task.asked_ratio;
    state.counters["asked_ms"] = task.asked_ms;
    if (task.offset_mm) {
      const std::optional<double> offset = task.offset_mm(report_of(task), run.said);
      state.counters["error_um"] = offset ? 1000.0 * (*offset - task.true_offset_mm) : 1e9;
    }
  }
}

/// The medians, a row each.
class MarkdownTable : public benchmark::BenchmarkReporter {
 public:
  bool ReportContext(const Context&) override {
    std::cout << "| what | ms | of the floor | asked | processor ms | of the floor's | peak MB | "
                 "offset off by |\n|---|---|---|---|---|---|---|---|\n";
    return true;
  }

  void ReportRuns(const std::vector<Run>& runs) override {
    for (const Run& run : runs) {
      if (run.error_occurred) std::cout << "| " << run.run_name.function_name << " | refused |\n";
      if (run.aggregate_name == "median") row(run);
    }
  }

 private:
  static double value(const Run& run, const char* counter) {
    const auto found = run.counters.find(counter);
    return found == run.counters.end() ? 0.0 : found->second.value;
  }

  static void row(const Run& run) {
    const double ms = run.GetAdjustedRealTime(), processor_ms = value(run, "cpu_ms");
    const double ratio = value(run, "asked_ratio"), asked_ms = value(run, "asked_ms");
    std::printf("| %s | %.0f | %.2f | ", run.run_name.function_name.c_str(), ms,
                ms / value(run, "floor_ms"));
    if (ratio > 0.0) std::printf("%.1f", ratio);
    if (asked_ms > 0.0) std::printf("%.0f ms", asked_ms);
    std::printf(" | %.0f | %.2f", processor_ms, processor_ms / value(run, "floor_cpu_ms"));
    std::printf(" | %.0f | ", value(run, "peak_mb"));
    const double error_um = value(run, "error_um");
    if (error_um > 1e6) std::printf("not found");
    if (error_um != 0.0 && error_um < 1e6) std::printf("%+.0f um", error_um);
    std::printf(" |\n");
    std::fflush(stdout);
  }
};

std::optional<double> reported_offset(const fs::path& report, const std::string&) {
  std::ifstream file(report / "report.json");
  const auto json = nlohmann::json::parse(file);
  return json.at("quantities").at("centreline_offset").at("value").get<double>();
}

std::optional<double> said_offset(const fs::path&, const std::string& said) {
  if (said.empty()) return std::nullopt;
  return std::strtod(said.c_str(), nullptr);
}

double true_offset_mm(const std::string& sample) {
  std::ifstream file(kSamples + sample + ".json");
  return nlohmann::json::parse(file).at("summary").at("centreline_offset_mm").get<double>();
}

std::vector<Task> tasks_of(const std::string& folder) {
  const std::string edge = kSamples + "edge-ground-offcentre.jpg";
  const std::string a = kSamples + "edge-turned-a.jpg", b = kSamples + "edge-turned-b.jpg";
  const std::string left = kSamples + "side-mismatch-left.jpg",
                    right = kSamples + "side-mismatch-right.jpg";
  const std::string choil = kSamples + "choil-hollow.jpg", usb = kSamples + "edge-usb.jpg";
  const double truth = true_offset_mm("edge-ground-offcentre");
  const auto report = [&](const std::string& view) {
    return Words{"-o", folder + "/" + view, "--camera-file", kPhone};
  };
  Words lens;
  for (int i = 1; i <= 12; ++i)
    lens.push_back(kSamples + "lens-" + (i < 10 ? "0" : "") + std::to_string(i) + ".jpg");
  return {
      {"edge, with its report",
       Words{PROGRAM, "edge", edge, "--thickness", "3.4mm"} + report("edge"),
       {edge},
       true,
       1.5,
       0.0,
       reported_offset,
       truth},
      {"edge, numbers only",
       {kOwnName, "numbers", edge, kPhone, "3.4"},
       {edge},
       false,
       1.1,
       0.0,
       said_offset,
       truth},
      {"OpenCV alone",
       {kOwnName, "opencv", edge, kPhone, "3.4"},
       {edge},
       false,
       0.0,
       0.0,
       said_offset,
       truth},
      {"edge, a turned pair",
       Words{PROGRAM, "edge", a, "--turned", b, "--thickness", "3mm"} + report("pair"),
       {a, b},
       true,
       1.5},
      {"side, both faces",
       Words{PROGRAM, "side", "--left", left, "--right", right, "--thickness", "3.2mm"} +
           report("side"),
       {left, right},
       true,
       1.5},
      {"choil", Words{PROGRAM, "choil", choil} + report("choil"), {choil}, true, 1.3},
      {"a live frame of 1920 x 1080, numbers only, with the program's start",
       {kOwnName, "numbers", usb, kUsb, "3"},
       {usb},
       false},
      {"calibrate, 12 photos",
       Words{PROGRAM, "calibrate"} + lens + Words{"-o", folder + "/phone.yml"}, lens, false, 0.0,
       1000.0},
  };
}

int run_tasks(int argc, char** argv) {
  const ScratchFolder scratch;
  const std::vector<Task> tasks = tasks_of(scratch.path().string());
  for (const Task& task : tasks) {
    benchmark::RegisterBenchmark(task.name.c_str(), run_task, task)
        ->UseManualTime()
        ->Iterations(1)
        ->Unit(benchmark::kMillisecond);
  }
  benchmark::Initialize(&argc, argv);
  MarkdownTable table;
  benchmark::RunSpecifiedBenchmarks(&table);
  return 0;
}

/// One photo's numbers, without a report.
int numbers(const std::string& photo_file, const std::string& camera_file, double thickness_mm) {
  const Photo photo = read_photo(photo_file);
  EdgeSettings settings;
  settings.thickness_mm = thickness_mm;
  settings.tip = Tip::right;
  const EdgeResult result = edge_view(photo, read_camera_file(camera_file), settings);
  std::printf("%.6f\n", result.centreline_offset_mm->value);
  return 0;
}

int opencv_alone(const std::string& photo, const std::string& camera_file, double thickness_mm) {
  const auto offset_mm = offset_by_opencv_alone(photo, camera_file, thickness_mm);
  if (offset_mm) std::printf("%.6f\n", *offset_mm);
  return 0;
}

/// The fastest of three runs.
ChildRun fastest(const Words& command) {
  ChildRun best = run_child(command);
  for (int run = 1; run < 3; ++run) {
    ChildRun other = run_child(command);
    if (other.wall_s < best.wall_s) best = std::move(other);
  }
  return best;
}

/// COUNT names for twelve photos of 12 MP.
void fill(const fs::path& folder, int count) {
  fs::create_directories(folder);
  static const std::vector<std::string> kPhotos = {"edge-ground-offcentre", "edge-turned-a",
                                                   "edge-three-1", "edge-three-2"};
  for (int i = 0; i < count; ++i) {
    const fs::path photo =
        fs::absolute(kSamples + kPhotos[static_cast<std::size_t>(i) % kPhotos.size()] + ".jpg");
    fs::create_symlink(photo, folder / ("photo-" + std::to_string(i) + ".jpg"));
  }
}

Words each_command(const fs::path& photos, const fs::path& reports) {
  return {PROGRAM, "edge",  photos.string(), "--each", "--thickness", "3mm",
          "--tip", "right", "--camera-file", kPhone,   "-o",          reports.string()};
}

/// By photos, on one processor and on all.
void grow_by_photos() {
  std::cout << "| photos, `--each` | s | s on one processor | s a photo | rate | peak MB |\n"
               "|---|---|---|---|---|---|\n";
  for (const int count : {1, 5, 10, 50}) {
    const ScratchFolder scratch;
    fill(scratch.path() / "photos", count);
    const Words command = each_command(scratch.path() / "photos", scratch.path() / "reports");
    const ChildRun all = run_child(command);
    const ChildRun one = run_child(Words{"taskset", "-c", "0"} + command);
    std::printf("| %d | %.2f | %.2f | %.3f | %.2f | %.0f |\n", count, all.wall_s, one.wall_s,
                all.wall_s / count, one.wall_s / all.wall_s, all.peak_mb);
    std::fflush(stdout);
  }
}

void grow_by_stations() {
  std::cout << "\n| stations, apart | processor ms | peak MB |\n|---|---|---|\n";
  const ScratchFolder scratch;
  for (const std::string step : {"4mm", "2mm", "1mm", "0.5mm", "0.25mm", "0.1mm"}) {
    const ChildRun run =
        fastest({PROGRAM, "edge", kSamples + "edge-ground-offcentre.jpg", "--thickness", "3.4mm",
                 "--camera-file", kPhone, "--step", step, "-o", (scratch.path() / "r").string()});
    std::printf("| %s | %.0f | %.0f |\n", step.c_str(), 1000.0 * run.cpu_s, run.peak_mb);
    std::fflush(stdout);
  }
}

int run(int argc, char** argv) {
  const std::string what = argc > 1 ? argv[1] : "";
  if (what == "numbers" && argc == 5) return numbers(argv[2], argv[3], std::atof(argv[4]));
  if (what == "opencv" && argc == 5) return opencv_alone(argv[2], argv[3], std::atof(argv[4]));
  if (what == "floor" && argc > 3) return floor_of({argv + 3, argv + argc}, argv[2]);
  if (what == "tasks") return run_tasks(argc, argv);
  if (what == "growth") {
    grow_by_photos();
    grow_by_stations();
    return 0;
  }
  std::cout << "bench_speed tasks | growth\n";
  return 2;
}

}  // namespace
}  // namespace evenbevel::test

int main(int argc, char** argv) { return evenbevel::test::run(argc, argv); }
