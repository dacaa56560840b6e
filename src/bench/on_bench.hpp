#pragma once

#include <condition_variable>
#include <deque>
#include <filesystem>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include <nlohmann/json.hpp>

#include "bench/job.hpp"
#include "bench/lens_photos.hpp"
#include "bench/photo_store.hpp"
#include "bench/shop_record.hpp"
#include "evenbevel/bench.hpp"
#include "evenbevel/error.hpp"

namespace evenbevel::bench {

/// What is on the bench: which view, knife and thickness, the photos so far, and what became of
/// them. Photos are measured one after another by one thread, in the order they came; the record
/// is read and written by that thread too, so that nobody who asks waits for it.
class OnBench {
 public:
  /// @param settings  Outlives it. @throws Error  The folder cannot be written.
  explicit OnBench(const BenchSettings& settings);
  ~OnBench();
  OnBench(const OnBench&) = delete;
  OnBench& operator=(const OnBench&) = delete;

  struct Choice {
    std::string view = {}, knife = {}, stage = {};
    std::string thickness = {};  ///< As typed; empty: the knife's, if it is known.
    /// As typed: it is kept with the knife, without one in shop.toml, and what was measured is
    /// judged anew; typed empty, it is taken back. Not typed: the knife's, else the shop's.
    std::optional<std::string> tolerance = {};
  };
  /// @return  The job that judges anew what was measured; 0: none.
  /// @throws Error  No such view, no length, a name too long.
  int choose(const Choice& choice);
  SetUp chosen();
  /// Of the bench's own camera, as named or as found here; empty: there is none.
  std::string live_camera_file();

  /// Where the next upload may be written until it is whole.
  std::filesystem::path incoming_file() { return store_.incoming_file(); }
  /// Takes a whole upload: it goes to its place under its hash and waits to be measured.
  /// @param live  Taken by the bench's own camera.
  /// @return  Its job; the earlier one's where the very same photo came again.
  /// @throws Error  Too many are waiting; the thickness is missing; not writable.
  int add_photo(const std::filesystem::path& incoming, bool live = false);
  /// Whether a photo would be taken now; else why not. For before its bytes are sent.
  void require_ready();

  /// The newest photo of a set is taken again: its place in the set is free.
  void again();

  /// The photos of a set so far, or of the lens card, count no more; they stay in the folder.
  void start_over();

  /// Measures a refused photo once more with what its maker answers; the rest is found from it.
  /// @return  The new job. @throws Error  No such job, or it asks for nothing.
  int answer(int job, const PhotoAnswers& answers);

  /// Puts a job's report into the record.
  /// @throws Error  No such job, nothing measured, no knife or no stage.
  void keep(int job, const std::string& knife, const std::string& stage);

  /// All that the page shows. @param job  Empty: the newest.
  nlohmann::json state(const std::optional<int>& job);

  /// The report's page or the picture of a job that is done; empty: there is none.
  std::optional<std::filesystem::path> report_file(int job);
  std::optional<std::filesystem::path> picture_file(int job);

  /// Finishes what is being measured. @return  Photos that were still waiting.
  std::size_t stop();

 private:
  struct Task {
    enum class Kind { measure, keep, say } kind = Kind::measure;
    int job = 0;
    std::string knife = {}, stage = {};
    SaidFact said = {};
  };
  /// Photos of one set-up, so far.
  struct PhotoSet {
    SetUp set_up = {};
    std::vector<BenchPhoto> photos = {};
    PhotoAnswers answers = {};
    int last_job = 0;
  };

  // What the page asks for (on_bench.cpp).
  int next_step() const;
  int job_of_same_photo(const BenchPhoto& photo) const;
  int line_up(Job job);
  bool ready_locked() const;
  std::optional<double> tolerance_locked(const SetUp& set_up) const;
  std::size_t begun_locked() const;
  void require_not_dropped(const Job& job) const;
  void say_locked(const SaidFact& said);
  int judge_anew_locked();
  nlohmann::json set_up_json() const;
  void forget_old_jobs();
  nlohmann::json job_json(int id) const;
  std::string guide_locked() const;

  // What the thread does (bench_work.cpp).
  void work();
  std::optional<Task> next_task();
  Order begin(int job);
  void measure(int job);
  void measure_blade(int job, const Order& order);
  void add_to_lens(int job, const Order& order);
  void refuse(int job, const Error& error);
  void show_refused(int job, const Order& order);
  void keep_now(const Task& task);
  void say_now(const Task& task);
  void remember_thickness(const SetUp& set_up);
  void tell(const std::string& line) const;

  const BenchSettings& settings_;
  PhotoStore store_;
  ShopRecord record_;
  std::mutex mutex_;  // of all below
  std::condition_variable wake_;
  bool stopping_ = false;
  std::deque<Task> tasks_;
  std::size_t waiting_photos_ = 0;
  SetUp set_up_;
  std::string stage_;
  KnifeFacts of_shop_;
  nlohmann::json set_up_fault_;  // null: what was typed is kept
  PhotoSet set_;
  LensPhotos lens_;
  int lot_ = 0;
  std::string live_camera_file_;
  std::map<int, Job> jobs_;
  int last_job_ = 0;
  std::thread worker_;
};

}  // namespace evenbevel::bench
