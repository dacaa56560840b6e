// How long a maker waits at the grinder, and what strangers cost:
//   bench_page photo PHOTO THICKNESS [TIMES]   from the upload's last byte to the result
//   bench_page live PHOTO THICKNESS CAMERA-FILE [SECONDS]   a 1920 px wide camera: frames and
//   latency bench_page hostile [REQUESTS]              mixed hostile requests, with the memory they
//   took

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <ctime>
#include <fstream>
#include <iostream>
#include <memory>
#include <random>
#include <string>
#include <thread>
#include <vector>

#include "frame_files.hpp"
#include "running_bench.hpp"

namespace evenbevel {
namespace {

using Clock = std::chrono::steady_clock;
using std::chrono::milliseconds;
using test::RawConnection;
using test::RunningBench;

double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

int time_photos(const std::string& file, const std::string& thickness, int times) {
  const RunningBench bench;
  bench.choose({{"view", "edge"}, {"thickness", thickness}});
  const std::string photo = test::file_text(file);
  std::vector<double> waits_s;
  const std::clock_t worked = std::clock();
  for (int i = 0; i < times; ++i) {
    // A byte behind the picture's end makes it another file, and the same picture.
    const std::string body = photo + static_cast<char>('a' + i % 26) + std::to_string(i);
    RawConnection phone(bench.port());
    phone.send(test::bytes_of(
        {.method = "POST", .target = "/photo", .headers = bench.entered(), .body = body},
        bench.port()));
    const Clock::time_point sent = Clock::now();
    const int job = test::reply_of(phone.read_answer()).json().at("job");
    const nlohmann::json done = bench.job_done(job)["job"];
    bench.get("/picture.jpg?job=" + std::to_string(job));
    waits_s.push_back(seconds_since(sent));
    if (i == 0) std::cout << done["state"] << " " << done["said"]["headline"] << '\n';
  }
  std::ranges::sort(waits_s);
  std::cout << "upload complete to result and picture, " << times << " times: median "
            << waits_s[waits_s.size() / 2] << " s, longest " << waits_s.back()
            << " s; the processor worked "
            << static_cast<double>(std::clock() - worked) / CLOCKS_PER_SEC / times
            << " s a photo\n";
  return 0;
}

double middle_of(std::vector<double> values) {
  if (values.empty()) return 0.0;
  std::ranges::sort(values);
  return values[values.size() / 2];
}

/// As the page does: ask for the state, fetch the picture of a new frame, ask again. The camera is
/// a sequence of JPEG frames, as a USB camera sends them.
int time_live(const std::string& photo, const std::string& thickness, const std::string& camera,
              double seconds) {
  const test::FrameFiles frames(photo, 1920);
  BenchSettings settings = test::with_camera(frames.source());
  settings.camera_file = camera;
  const RunningBench bench(settings);
  bench.choose({{"view", "edge"}, {"thickness", thickness}});
  bench.post("/live", R"({"do":"by hand"})");
  std::vector<double> latencies_ms, looked_ms;
  std::uint64_t last = 0;
  double age_sum_s = 0.0;
  Clock::time_point start = Clock::now();
  const std::clock_t worked = std::clock();
  for (bool warm = false; seconds_since(start) < seconds;) {
    const Clock::time_point asked = Clock::now();
    const nlohmann::json live = bench.get("/live").json();
    const std::uint64_t frame = live["frame"];
    if (frame != last) {
      bench.get("/live.jpg?frame=" + std::to_string(frame));
      last = frame;
      latencies_ms.push_back(live["age_ms"].get<double>() + 1000.0 * seconds_since(asked));
      looked_ms.push_back(live["looked_ms"]);
      if (live["number"].is_object() && live["number"].contains("value")) {
        age_sum_s += live["number"]["age_s"].get<double>();
      }
    }
    if (!warm && frame > 10) {
      warm = true;
      start = Clock::now();
      latencies_ms.clear();
    }
    std::this_thread::sleep_for(milliseconds(30));
  }
  std::ranges::sort(latencies_ms);
  const auto count = static_cast<double>(latencies_ms.size());
  std::cout << "live, " << seconds << " s: " << count / seconds
            << " pictures a second; from the frame to "
            << "the page: median " << middle_of(latencies_ms) << " ms, 95 in 100 within "
            << latencies_ms[latencies_ms.size() * 95 / 100] << " ms (looking at it "
            << middle_of(looked_ms) << " ms); mean age of the number " << age_sum_s / count
            << " s; processors busy "
            << static_cast<double>(std::clock() - worked) / CLOCKS_PER_SEC / seconds << '\n';
  return 0;
}

double peak_memory_mb() {
  std::ifstream status("/proc/self/status");
  for (std::string line; std::getline(status, line);) {
    if (line.starts_with("VmHWM:")) return std::strtod(line.c_str() + 6, nullptr) / 1000.0;
  }
  return 0.0;
}

/// One of the things that strangers do. A few stay connected and silent.
class Stranger {
 public:
  explicit Stranger(const RunningBench& bench) : bench_(bench) {}

  void visit(unsigned kind) {
    switch (kind % 10) {
      case 0:
        return (void)bench_.ask({.target = "/"});
      case 1:
        return (void)bench_.ask({.target = "/?t=00000000000000000000000000000000"});
      case 2:
        return (void)bench_.ask({.headers = "Host: evil.example\r\n" + bench_.entered()});
      case 3:
        return send("Content-Length: 200000000", std::string(1'000'000, 'x'));
      case 4:
        return send_chunked();
      case 5:
        return send_endless_header();
      case 6:
        return stay_silent();
      case 7:
        return (void)bench_.post("/photo", "no photo " + std::to_string(++count_));
      case 8:
        return (void)bench_.get("/../../etc/passwd");
      default:
        return break_off();
    }
  }

 private:
  std::string head(const std::string& line) const {
    return "POST /photo HTTP/1.1\r\nHost: 127.0.0.1\r\n" + bench_.entered() + line + "\r\n\r\n";
  }
  void send(const std::string& line, const std::string& body) const {
    RawConnection connection(bench_.port());
    connection.send(head(line) + body);
    connection.read_to_end();
  }
  void send_chunked() const {
    RawConnection connection(bench_.port());
    connection.send(head("Transfer-Encoding: chunked"));
    const std::string chunk = "100000\r\n" + std::string(0x100000, 'x') + "\r\n";
    for (int i = 0; i < 200 && connection.send(chunk); ++i) {
    }
  }
  void send_endless_header() const {
    RawConnection connection(bench_.port());
    connection.send("GET / HTTP/1.1\r\nX: ");
    for (int i = 0; i < 100 && connection.send(std::string(100'000, 'x')); ++i) {
    }
  }
  void stay_silent() { silent_.push_back(std::make_unique<RawConnection>(bench_.port())); }
  void break_off() const {
    RawConnection connection(bench_.port());
    connection.send(head("Content-Length: 1000000") + std::string(300'000, 'x'));
    connection.drop();
  }

  const RunningBench& bench_;
  std::vector<std::unique_ptr<RawConnection>> silent_;
  int count_ = 0;
};

int be_hostile(int requests) {
  const RunningBench bench;
  bench.choose({{"view", "practice"}});
  Stranger stranger(bench);
  std::mt19937 random(1);
  for (int i = 0; i < requests; ++i) stranger.visit(static_cast<unsigned>(random()));
  const int honest = bench.get("/state").status;
  std::this_thread::sleep_for(milliseconds(200));
  std::size_t parts = 0;
  for (const std::string& name : bench.stored()) parts += name.ends_with(".part") ? 1U : 0U;
  std::size_t outside = 0;
  for (const auto& entry : std::filesystem::directory_iterator(bench.scratch())) {
    const std::string name = entry.path().filename().string();
    if (name != "bench" && !name.starts_with("record.sqlite")) ++outside;
  }
  std::cout << requests << " hostile requests; the next honest one was answered with " << honest
            << "; unfinished uploads left: " << parts << ", files elsewhere: " << outside
            << "; peak memory of server and strangers together: " << peak_memory_mb() << " MB\n";
  return honest == 200 && parts == 0 && outside == 0 ? 0 : 1;
}

}  // namespace
}  // namespace evenbevel

int main(int argc, char** argv) {
  const std::vector<std::string> words(argv + 1, argv + argc);
  if (words.size() >= 3 && words[0] == "photo") {
    return evenbevel::time_photos(words[1], words[2],
                                  words.size() > 3 ? std::atoi(words[3].c_str()) : 20);
  }
  if (words.size() >= 4 && words[0] == "live") {
    return evenbevel::time_live(words[1], words[2], words[3],
                                words.size() > 4 ? std::atof(words[4].c_str()) : 10.0);
  }
  if (!words.empty() && words[0] == "hostile") {
    return evenbevel::be_hostile(words.size() > 1 ? std::atoi(words[1].c_str()) : 1000);
  }
  std::cerr
      << "bench_page photo PHOTO THICKNESS [TIMES] | live PHOTO THICKNESS CAMERA-FILE [SECONDS] | "
         "hostile [REQUESTS]\n";
  return 2;
}
