#include "bench/on_bench.hpp"

#include <algorithm>
#include <utility>

#include "evenbevel/printed.hpp"

namespace evenbevel::bench {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

constexpr std::size_t kMostNameBytes = 200;
constexpr std::size_t kJobsRemembered = 400;

void require_short(const std::string& name, const char* what) {
  if (name.size() <= kMostNameBytes) return;
  throw Error(std::string("the ") + what + " has " + std::to_string(name.size()) +
                  " bytes, at most " + std::to_string(kMostNameBytes) + " are allowed",
              "give it a shorter one");
}

/// Empty where nothing was typed.
std::optional<double> length_of(const char* what, const std::string& typed, LengthUnit bare,
                                const char* example) {
  if (typed.empty()) return std::nullopt;
  const std::optional<double> mm = parse_length_mm(typed, bare);
  if (mm && *mm > 0.0) return mm;
  throw Error(
      "the " + std::string(what) + " '" + typed.substr(0, 40) + "' is not a length above zero",
      "write for example " + std::string(example));
}

std::optional<double> thickness_of(const std::string& typed, LengthUnit bare) {
  return length_of("thickness", typed, bare, "3.2mm, 0.125in or 125thou");
}

std::optional<double> tolerance_of(const std::string& typed, LengthUnit bare) {
  return length_of("tolerance", typed, bare, "0.05mm, 0.002in or 2thou");
}

std::optional<double> fact_in(const KnifeFacts& facts, KnifeFact fact) {
  const auto found = facts.find(fact);
  return found == facts.end() ? std::nullopt : std::optional(found->second);
}

json kinds_json() {
  json kinds = json::array();
  for (const BenchKind& kind : bench_kinds()) {
    kinds.push_back({{"view", kind.name}, {"label", kind.label}});
  }
  return kinds;
}

}  // namespace

OnBench::OnBench(const BenchSettings& settings)
    : settings_(settings),
      store_(settings.folder / "photos"),
      record_(settings.record_file),
      of_shop_(settings.of_shop),
      lens_(settings),
      live_camera_file_(settings.camera_file) {
  std::error_code failure;
  fs::create_directories(settings_.folder / "reports", failure);
  if (failure) {
    throw Error("the folder " + settings_.folder.string() + " cannot be written",
                "name another with --folder, or check your rights there");
  }
  try {
    record_.look_up();
  } catch (const Error& e) {
    tell("the record cannot be read: " + std::string(e.what()));
  }
  set_up_.knife = settings_.knife;
  set_up_.thickness_mm = record_.thickness_of(set_up_.knife);
  set_up_.tolerance_mm = tolerance_locked(set_up_);
  worker_ = std::thread([this] { work(); });
}

OnBench::~OnBench() { stop(); }

std::size_t OnBench::stop() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  wake_.notify_all();
  if (worker_.joinable()) worker_.join();
  return waiting_photos_;
}

int OnBench::choose(const Choice& choice) {
  const BenchKind* kind = kind_named(choice.view);
  if (kind == nullptr) {
    throw Error("there is nothing of that name to put on the bench", "reload the page");
  }
  require_short(choice.knife, "knife's name");
  require_short(choice.stage, "stage");
  SetUp chosen{.view = kind->view,
               .knife = choice.knife,
               .thickness_mm = thickness_of(choice.thickness, settings_.unit)};
  if (choice.thickness.empty()) chosen.thickness_mm = record_.thickness_of(choice.knife);
  const std::optional<double> typed = tolerance_of(choice.tolerance.value_or(""), settings_.unit);
  int judged = 0;
  {
    const std::lock_guard lock(mutex_);
    set_up_ = std::move(chosen);
    stage_ = choice.stage;
    set_up_fault_ = nullptr;
    if (choice.tolerance && kind->judged.by) say_locked({*kind->judged.by, typed});
    set_up_.tolerance_mm = tolerance_locked(set_up_);
    judged = judge_anew_locked();
  }
  wake_.notify_all();
  return judged;
}

std::optional<double> OnBench::tolerance_locked(const SetUp& set_up) const {
  const std::optional<KnifeFact> by = kind_of(set_up.view).judged.by;
  if (!by) return std::nullopt;
  const std::optional<double> of_knife = fact_in(record_.facts_of(set_up.knife), *by);
  return of_knife ? of_knife : fact_in(of_shop_, *by);
}

/// It counts at once; the thread writes it down.
void OnBench::say_locked(const SaidFact& said) {
  if (!set_up_.knife.empty()) {
    if (fact_in(record_.facts_of(set_up_.knife), said.fact) == said.mm) return;
    record_.expect(set_up_.knife, said);
  } else {
    if (fact_in(of_shop_, said.fact) == said.mm) return;
    of_shop_.erase(said.fact);
    if (said.mm) of_shop_[said.fact] = *said.mm;
  }
  tasks_.push_back({.kind = Task::Kind::say, .knife = set_up_.knife, .said = said});
}

/// A verdict follows the tolerance: what was measured last is measured once more by it.
int OnBench::judge_anew_locked() {
  const auto last = jobs_.find(set_.last_job);
  for (auto& [id, job] : jobs_) {
    if (job.state != JobState::waiting || !job.set_up.same_blade(set_up_)) continue;
    job.set_up.tolerance_mm = set_up_.tolerance_mm;
    if (job.judged_anew) return id;
  }
  if (set_.photos.empty() || last == jobs_.end() || last->second.taken_again) return 0;
  const Job& measured = last->second;
  if (!measured.set_up.same_blade(set_up_) ||
      measured.set_up.tolerance_mm == set_up_.tolerance_mm) {
    return 0;
  }
  return line_up({.set_up = set_up_,
                  .photo = set_.photos.back(),
                  .answers = set_.answers,
                  .judged_anew = true});
}

SetUp OnBench::chosen() {
  const std::lock_guard lock(mutex_);
  return set_up_;
}

std::string OnBench::live_camera_file() {
  const std::lock_guard lock(mutex_);
  return live_camera_file_;
}

bool OnBench::ready_locked() const {
  return !kind_of(set_up_.view).needs_thickness || set_up_.thickness_mm.has_value();
}

void OnBench::require_ready() {
  const std::lock_guard lock(mutex_);
  if (!ready_locked()) {
    throw Error("the stock's thickness is not said",
                "measure it between the flats by micrometer and type it in, then take the photo");
  }
  if (waiting_photos_ >= settings_.limits.waiting_photos) {
    throw Error(std::to_string(waiting_photos_) + " photos are waiting to be measured",
                "wait until some are done, then send this one again");
  }
}

int OnBench::job_of_same_photo(const BenchPhoto& photo) const {
  for (const auto& [id, job] : jobs_) {
    if (job.photo == photo && job.set_up == set_up_ && job.lot == lot_ && !job.taken_again &&
        job.state != JobState::refused) {
      return id;
    }
  }
  return 0;
}

int OnBench::add_photo(const fs::path& incoming, bool live) {
  require_ready();
  const BenchPhoto photo{store_.take(incoming), live};
  int id = 0;
  {
    const std::lock_guard lock(mutex_);
    if (const int same = job_of_same_photo(photo); same > 0) return same;
    id = line_up({.set_up = set_up_, .photo = photo});
  }
  wake_.notify_all();
  return id;
}

int OnBench::answer(int refused, const PhotoAnswers& answers) {
  int id = 0;
  {
    const std::lock_guard lock(mutex_);
    const auto job = jobs_.find(refused);
    if (job == jobs_.end() || !job->second.asks_for(answers)) {
      throw Error("this photo asks for nothing", "take the photo again");
    }
    const PhotoAnswers& earlier = job->second.answers;
    Job again{.set_up = job->second.set_up, .photo = job->second.photo};
    again.answers.tip = answers.tip ? answers.tip : earlier.tip;
    again.answers.shows = answers.shows ? answers.shows : earlier.shows;
    job->second.questions.clear();
    id = line_up(std::move(again));
  }
  wake_.notify_all();
  return id;
}

int OnBench::line_up(Job job) {
  const int id = ++last_job_;
  job.lot = lot_;
  jobs_[id] = std::move(job);
  tasks_.push_back({.kind = Task::Kind::measure, .job = id});
  ++waiting_photos_;
  forget_old_jobs();
  return id;
}

void OnBench::forget_old_jobs() {
  for (auto one = jobs_.begin(); jobs_.size() > kJobsRemembered && one != jobs_.end();) {
    const bool over = one->second.done() && one->second.keeping != Keeping::waiting;
    one = over ? jobs_.erase(one) : std::next(one);
  }
}

void OnBench::again() {
  const std::lock_guard lock(mutex_);
  if (kind_of(set_up_.view).measure == nullptr) return lens_.drop_last();
  if (set_.photos.empty()) return;
  set_.photos.pop_back();
  const auto job = jobs_.find(set_.last_job);
  if (job != jobs_.end()) job->second.taken_again = true;
}

void OnBench::start_over() {
  const std::lock_guard lock(mutex_);
  set_ = {};
  lens_ = LensPhotos(settings_);
  ++lot_;
}

/// Photos that the next one adds to.
std::size_t OnBench::begun_locked() const {
  const BenchKind& kind = kind_of(set_up_.view);
  if (kind.measure == nullptr) return lens_.taken();
  return static_cast<std::size_t>(next_step() - 1);
}

void OnBench::require_not_dropped(const Job& job) const {
  if (job.lot == lot_) return;
  throw Error("it was started over after this photo was sent", "take it again");
}

void OnBench::keep(int id, const std::string& knife, const std::string& stage) {
  require_short(knife, "knife's name");
  require_short(stage, "stage");
  {
    const std::lock_guard lock(mutex_);
    const auto job = jobs_.find(id);
    if (job == jobs_.end() || !job->second.can_be_kept()) {
      throw Error("there is no such measurement to keep", "take the photo again");
    }
    if (knife.empty() || stage.empty()) {
      throw Error(knife.empty() ? "the knife has no name" : "the knife's stage is not said",
                  "type the knife's name and its stage, such as 120 grit");
    }
    Keeping& keeping = job->second.keeping;
    if (keeping == Keeping::waiting || keeping == Keeping::kept) return;
    keeping = Keeping::waiting;
    tasks_.push_back({Task::Kind::keep, id, knife, stage});
  }
  wake_.notify_all();
}

std::optional<fs::path> OnBench::report_file(int id) {
  const std::lock_guard lock(mutex_);
  const auto job = jobs_.find(id);
  if (job == jobs_.end() || !job->second.has_report()) return std::nullopt;
  return job->second.folder / "report.html";
}

std::optional<fs::path> OnBench::picture_file(int id) {
  const std::lock_guard lock(mutex_);
  const auto job = jobs_.find(id);
  if (job == jobs_.end() || job->second.picture.empty()) return std::nullopt;
  return job->second.folder / job->second.picture;
}

int OnBench::next_step() const {
  const bool same = set_.set_up.same_blade(set_up_);
  const int there = same ? static_cast<int>(set_.photos.size()) : 0;
  return there >= kind_of(set_up_.view).steps() ? 1 : there + 1;
}

std::string OnBench::guide_locked() const {
  const BenchKind& kind = kind_of(set_up_.view);
  if (kind.measure == nullptr && !lens_.next().empty()) return lens_.next();
  return std::string(kind.guide[static_cast<std::size_t>(next_step() - 1)]);
}

json OnBench::job_json(int id) const {
  const auto found = jobs_.find(id);
  if (found == jobs_.end()) return nullptr;
  const auto before = std::ranges::count_if(
      jobs_, [&](const auto& one) { return one.first < id && !one.second.done(); });
  return json_of(found->second, id, static_cast<std::size_t>(before), lot_);
}

json OnBench::set_up_json() const {
  const BenchKind& kind = kind_of(set_up_.view);
  const auto shown = [&](const std::optional<double>& mm) {
    return mm ? json(trimmed_length(*mm, settings_.unit)) : json("");
  };
  const KnifeFacts of_knife = record_.facts_of(set_up_.knife);
  const bool tolerance_of_knife = kind.judged.by && of_knife.contains(*kind.judged.by);
  return {{"view", kind.name},
          {"knife", set_up_.knife},
          {"stage", stage_},
          {"thickness", shown(set_up_.thickness_mm)},
          {"thickness_of_knife", shown(fact_in(of_knife, KnifeFact::thickness))},
          {"tolerance", shown(set_up_.tolerance_mm)},
          {"tolerance_from", !set_up_.tolerance_mm ? ""
                             : tolerance_of_knife  ? "knife"
                                                   : "shop"},
          {"tolerance_of", kind.judged.what},
          {"fault", set_up_fault_},
          {"needs_thickness", kind.needs_thickness},
          {"of_a_knife", kind.of_a_knife},
          {"ready", ready_locked()}};
}

json OnBench::state(const std::optional<int>& job) {
  const std::vector<std::string> knives = record_.knives();
  const std::lock_guard lock(mutex_);
  const bool other_job = job && jobs_.contains(*job);
  json all = {{"kinds", kinds_json()},
              {"step", next_step()},
              {"steps", kind_of(set_up_.view).steps()},
              {"guide", guide_locked()},
              {"begun", begun_locked()},
              {"waiting", waiting_photos_},
              {"most_bytes", settings_.limits.photo_bytes},
              {"knives", knives},
              {"has_camera", !settings_.camera_source.empty()},
              {"job", job_json(other_job ? *job : last_job_)}};
  all.update(set_up_json());
  return all;
}

}  // namespace evenbevel::bench
