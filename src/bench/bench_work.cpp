// What the bench's one thread does: it measures photo after photo and writes the record.

#include <array>
#include <ctime>
#include <fstream>
#include <iterator>
#include <tuple>
#include <utility>

#include "bench/job_words.hpp"
#include "bench/on_bench.hpp"
#include "bench/phone_words.hpp"
#include "evenbevel/refused_picture.hpp"

namespace evenbevel::bench {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

constexpr const char* kMeasuredPicture = "annotated.jpg";
constexpr const char* kLensPicture = "lens.jpg";

std::string folder_time() {
  const std::time_t now = std::time(nullptr);
  std::tm parts{};
  ::gmtime_r(&now, &parts);
  std::array<char, 32> text{};
  const std::size_t length = std::strftime(text.data(), text.size(), "%Y%m%dT%H%M%SZ", &parts);
  return {text.data(), length};
}

std::string file_text(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// A picture on the way of the lens photos: of use until the next one, so no more than written.
bool write_picture(const cv::Mat& bgr, const fs::path& folder, const char* name) {
  constexpr int kQuality = 85;
  const std::vector<uchar> jpeg = encode_jpeg(bgr, kQuality);
  std::error_code failure;
  fs::create_directories(folder, failure);
  std::ofstream file(folder / name, std::ios::binary);
  file.write(reinterpret_cast<const char*>(jpeg.data()), static_cast<std::streamsize>(jpeg.size()));
  file.close();
  return static_cast<bool>(file);
}

}  // namespace

void OnBench::tell(const std::string& line) const {
  if (settings_.tell) settings_.tell(line);
}

std::optional<OnBench::Task> OnBench::next_task() {
  std::unique_lock lock(mutex_);
  wake_.wait(lock, [&] { return stopping_ || !tasks_.empty(); });
  // What was asked to be kept is kept still; photos lie in the folder.
  if (stopping_)
    std::erase_if(tasks_, [](const Task& one) { return one.kind == Task::Kind::measure; });
  if (tasks_.empty()) return std::nullopt;
  Task task = std::move(tasks_.front());
  tasks_.pop_front();
  if (task.kind == Task::Kind::measure) --waiting_photos_;
  return task;
}

void OnBench::work() {
  while (const std::optional<Task> task = next_task()) {
    if (task->kind == Task::Kind::measure) measure(task->job);
    if (task->kind == Task::Kind::keep) keep_now(*task);
    if (task->kind == Task::Kind::say) say_now(*task);
  }
}

Order OnBench::begin(int id) {
  const std::lock_guard lock(mutex_);
  Job& job = jobs_.at(id);
  const BenchKind& kind = kind_of(job.set_up.view);
  Order order{.settings = settings_, .set_up = job.set_up, .live_camera_file = live_camera_file_};
  const auto most = static_cast<std::size_t>(kind.steps());
  const bool full = set_.photos.size() >= most && !job.judged_anew;
  if (!set_.set_up.same_blade(job.set_up) || full) set_ = {.set_up = job.set_up};
  if (!set_.photos.empty()) {  // The set's first photos have told, or their maker has.
    if (!job.answers.tip) job.answers.tip = set_.answers.tip;
    if (!job.answers.shows) job.answers.shows = set_.answers.shows;
  }
  order.answers = job.answers;
  order.of_shop = of_shop_;
  order.photos = set_.photos;
  if (!job.judged_anew || set_.photos.empty()) order.photos.push_back(job.photo);
  job.state = JobState::measuring;
  job.step = static_cast<int>(order.photos.size());
  job.photos = order.photos;
  job.folder = settings_.folder / "reports" /
               (folder_time() + "-" + std::to_string(id) + "-" + std::string(kind.name));
  return order;
}

void OnBench::measure(int id) {
  Order order = begin(id);
  try {
    order.known = record_.facts_of(order.set_up.knife);
    if (kind_of(order.set_up.view).measure == nullptr) {
      add_to_lens(id, order);
    } else {
      measure_blade(id, order);
    }
  } catch (const Error& e) {
    show_refused(id, order);
    refuse(id, e);
  } catch (const std::exception&) {
    // One bad photo must not end the bench; what it was goes to the terminal by its number.
    refuse(id, Error("this photo made the program fail, which is a fault of the program",
                     "take the photo again; please report the fault with the photo"));
  }
}

void OnBench::measure_blade(int id, const Order& order) {
  const BenchKind& kind = kind_of(order.set_up.view);
  fs::path folder;
  {
    const std::lock_guard lock(mutex_);
    folder = jobs_.at(id).folder;
  }
  const Written written = kind.measure(order, folder);
  {
    const std::lock_guard lock(mutex_);
    Job& job = jobs_.at(id);
    job.said = words_of(written.statement, settings_.unit);
    job.picture = kMeasuredPicture;
    job.state = JobState::measured;
    if (job.lot == lot_) set_ = {job.set_up, job.photos, job.answers, id};
  }
  tell(std::to_string(id) + " " + std::string(kind.name) + ": " +
       written.statement.glance.headline.said(settings_.unit));
  remember_thickness(order.set_up);
}

void OnBench::add_to_lens(int id, const Order& order) {
  const Photo photo = read_bench_photo(order.photos.back());
  LensPhotos lens(settings_);
  fs::path folder;
  {
    const std::lock_guard lock(mutex_);
    require_not_dropped(jobs_.at(id));
    lens = lens_;
    folder = jobs_.at(id).folder;
  }
  const bool live = order.photos.back().live;
  LensPhotos::Progress progress = lens.add(photo, live);
  const bool shown = write_picture(progress.picture_bgr, folder, kLensPicture);
  const std::string headline = progress.said["headline"];
  {
    const std::lock_guard lock(mutex_);
    require_not_dropped(jobs_.at(id));
    lens_ = std::move(lens);
    if (progress.known && live) live_camera_file_ = progress.file.string();
    Job& job = jobs_.at(id);
    job.said = std::move(progress.said);
    if (shown) job.picture = kLensPicture;
    job.state = JobState::measured;
  }
  tell(std::to_string(id) + " lens: " + headline +
       (progress.known ? ", " + progress.file.string() : ""));
}

void OnBench::refuse(int id, const Error& error) {
  std::string line;
  {
    const std::lock_guard lock(mutex_);
    Job& job = jobs_.at(id);
    // On the phone a photo is "the photo", not its place on this computer.
    Error plain = replaced(without_options(error), job.folder.string(), "the bench's folder");
    for (const BenchPhoto& photo : job.photos) {
      plain = replaced(plain, photo.file.filename().string(), "the photo");
    }
    job.said = words_of(plain, settings_.unit);
    if (kind_of(job.set_up.view).asks) job.questions = questions_of(error);
    job.state = JobState::refused;
    line = std::to_string(id) + " " + std::string(kind_of(job.set_up.view).name) +
           ": not measured: " + error.what_is_wrong().said(settings_.unit);
  }
  tell(line);
}

/// A picture of what was found, where the photo can be read and the folder written; else the
/// sentence has to do.
void OnBench::show_refused(int id, const Order& order) {
  fs::path folder;
  {
    const std::lock_guard lock(mutex_);
    folder = jobs_.at(id).folder;
  }
  try {
    write_refused_picture(read_bench_photo(order.photos.back()), kind_of(order.set_up.view).card,
                          folder);
  } catch (const std::exception&) {
    return;
  }
  const std::lock_guard lock(mutex_);
  jobs_.at(id).picture = kRefusedPicture;
}

void OnBench::remember_thickness(const SetUp& set_up) {
  if (set_up.knife.empty() || !set_up.thickness_mm) return;
  try {
    record_.remember_thickness(set_up.knife, *set_up.thickness_mm);
  } catch (const Error& e) {
    tell("the record cannot remember the thickness: " + std::string(e.what()));
  }
}

void OnBench::say_now(const Task& task) {
  json fault;
  try {
    if (!task.knife.empty()) {
      record_.say_expected();
    } else if (settings_.say_to_shop) {
      settings_.say_to_shop(task.said.fact, task.said.mm);
    }
    return;
  } catch (const Error& e) {
    fault = words_of(e, settings_.unit);
    tell("the tolerance counts, but is not kept: " + std::string(e.what()));
  }
  const std::lock_guard lock(mutex_);
  set_up_fault_ = std::move(fault);
}

void OnBench::keep_now(const Task& task) {
  NewEntry entry{.knife = task.knife, .stage = task.stage};
  {
    const std::lock_guard lock(mutex_);
    const Job& job = jobs_.at(task.job);
    entry.report_folder = job.folder;
    for (const BenchPhoto& photo : job.photos) entry.photos.push_back(photo.file);
  }
  entry.report_json = file_text(entry.report_folder / "report.json");
  json kept;
  Keeping keeping = Keeping::kept;
  try {
    const Added added = record_.add(std::move(entry));
    kept = {{"entry", added.id}, {"knife", added.knife}, {"stage", added.stage}};
    tell("entry " + std::to_string(added.id) + ": " + added.knife + ", " + added.stage);
  } catch (const Error& e) {
    kept = words_of(e, settings_.unit);
    keeping = Keeping::not_kept;
  }
  const std::lock_guard lock(mutex_);
  const auto job = jobs_.find(task.job);
  if (job != jobs_.end()) {
    std::tie(job->second.keeping, job->second.kept) = std::pair(keeping, std::move(kept));
  }
}

}  // namespace evenbevel::bench
