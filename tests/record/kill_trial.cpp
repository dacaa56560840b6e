#include "kill_trial.hpp"

#include <cerrno>
#include <chrono>
#include <csignal>
#include <map>
#include <thread>

#include <fcntl.h>
#include <sys/wait.h>
#include <unistd.h>

#include "evenbevel/error.hpp"
#include "seeded.hpp"
#include "units/sha256.hpp"

namespace evenbevel::test {
namespace {

constexpr int kEntriesEach = 12;
constexpr std::size_t kPhotoBytes = 30'000;

/// Photo and report of their own, with photos large enough to be cut short by a kill.
NewEntry entry_of(const Shop& shop, int kill, int number) {
  const std::string name = std::to_string(kill) + "-" + std::to_string(number);
  std::string bytes = "\xFF\xD8\xFF" + name;
  bytes.resize(kPhotoBytes, static_cast<char>('a' + number));
  shop.photo(name + ".jpg", bytes);
  return {.knife = "knife " + std::to_string(kill % 7),
          .stage = "stage " + std::to_string(number),
          .report_json = shop.report(name + ".jpg", {.offset = {0.001 * number, 0.004, 0.008}}),
          .added = kWhen};
}

/// The writer: one byte through the pipe for each entry that is in.
[[noreturn]] void write_entries(const Shop& shop, const std::vector<NewEntry>& entries, int pipe) {
  try {
    for (const NewEntry& entry : entries) {
      shop.record().add(entry);
      if (::write(pipe, "+", 1) != 1) ::_exit(2);
    }
  } catch (const std::exception&) {
    ::_exit(1);
  }
  ::_exit(0);
}

/// How many entries it had confirmed when it was killed, and whether it was through by then.
struct Killed {
  int confirmed = 0;
  bool through = false;
};

Killed run_and_kill(const Shop& shop, const std::vector<NewEntry>& entries, double after_s) {
  int ends[2] = {};
  if (::pipe(ends) != 0) throw std::runtime_error("no pipe");
  const pid_t writer = ::fork();
  if (writer == 0) write_entries(shop, entries, ends[1]);
  ::close(ends[1]);
  std::this_thread::sleep_for(std::chrono::duration<double>(after_s));
  ::kill(writer, SIGKILL);
  int status = 0;
  ::waitpid(writer, &status, 0);
  Killed killed{.through = WIFEXITED(status)};
  char byte = 0;
  while (::read(ends[0], &byte, 1) == 1) ++killed.confirmed;
  ::close(ends[0]);
  if (killed.through && WEXITSTATUS(status) != 0) throw std::runtime_error("the writer failed");
  return killed;
}

/// Entries by their report's hash; what is doubled or half is said.
std::map<std::string, int> seen_entries(const Shop& shop, std::vector<std::string>& wrong) {
  std::map<std::string, int> seen;
  Record record = shop.record();
  for (const KnifeLine& line : record.list()) {
    for (const RecordEntry& entry : record.knife(line.name).entries) {
      if (++seen[entry.report] > 1) wrong.push_back("doubled: " + entry.report);
      if (entry.values.size() != 2U || entry.photos.size() != 1U) {
        wrong.push_back("half: " + entry.report);
        continue;
      }
      const RecordedPhoto& photo = entry.photos.front();
      if (sha256_of_file(record.photo_path(photo)) != photo.sha256) {
        wrong.push_back("photo missing or damaged: " + photo.name);
      }
    }
  }
  return seen;
}

}  // namespace

KillTally kill_adds(const Shop& shop, int kills, int seed) {
  KillTally tally;
  std::mt19937_64 rng = seeded("KillTrial", seed);
  std::map<std::string, int> before;
  double whole_s = 0.05;  // How long a writer takes; found out along the way.
  for (int kill = 0; kill < kills; ++kill) {
    std::vector<NewEntry> entries;
    for (int i = 0; i < kEntriesEach; ++i) entries.push_back(entry_of(shop, kill, i));
    const Killed killed = run_and_kill(shop, entries, uniform(rng, 0.0, whole_s));
    ++tally.kills;
    tally.in_time += killed.through ? 0 : 1;
    tally.confirmed += killed.confirmed;
    whole_s *= killed.through ? 0.9 : 1.1;

    const std::map<std::string, int> after = seen_entries(shop, tally.wrong);
    int in = 0;
    for (const NewEntry& entry : entries) {
      const bool there = after.contains(sha256(entry.report_json));
      in += there ? 1 : 0;
      const auto number = static_cast<int>(&entry - entries.data());
      if (number < killed.confirmed && !there) tally.wrong.push_back("lost: " + entry.stage);
    }
    tally.unconfirmed += in - killed.confirmed;
    for (const auto& [report, count] : before) {
      if (!after.contains(report)) tally.wrong.push_back("lost later: " + report);
    }
    before = after;
  }
  for (const std::string& fault : check_record(shop.file()).faults) tally.wrong.push_back(fault);
  return tally;
}

int add_at_once(const Shop& shop, int processes, int entries_each) {
  std::vector<pid_t> writers;
  for (int process = 0; process < processes; ++process) {
    std::vector<NewEntry> entries;
    for (int i = 0; i < entries_each; ++i) entries.push_back(entry_of(shop, process, i));
    const pid_t writer = ::fork();
    if (writer == 0) write_entries(shop, entries, ::open("/dev/null", O_WRONLY));
    writers.push_back(writer);
  }
  int failed = 0;
  for (const pid_t writer : writers) {
    int status = 0;
    ::waitpid(writer, &status, 0);
    failed += WIFEXITED(status) && WEXITSTATUS(status) == 0 ? 0 : 1;
  }
  return failed;
}

}  // namespace evenbevel::test
