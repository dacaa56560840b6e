// How a record stands kills, and how fast it is when it is full.
//   bench_record kills [COUNT] [SEED]   SIGKILL at random instants during adds
//   bench_record speed [ENTRIES]        list, show and page, ten entries a knife
//   bench_record growth [ENTRIES]       the same with export and import of everything, for a
//   hundredth
//                                       of that many entries, a tenth, and all; a table in Markdown

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <iostream>
#include <string>

#include <nlohmann/json.hpp>
#include <opencv2/core.hpp>

#include "evenbevel/photo.hpp"
#include "evenbevel/record_page.hpp"
#include "kill_trial.hpp"
#include "run_program.hpp"

namespace evenbevel::test {
namespace {

int kills(int count, int seed) {
  const Shop shop;
  const KillTally tally = kill_adds(shop, count, seed);
  std::cout << tally.kills << " kills, " << tally.in_time << " of a writer at work; "
            << tally.confirmed << " entries confirmed, " << tally.unconfirmed
            << " more in before their confirmation came; wrong: " << tally.wrong.size() << '\n';
  for (const std::string& wrong : tally.wrong) std::cout << "  " << wrong << '\n';
  return tally.wrong.empty() ? 0 : 1;
}

/// An edge report of a usual length, on a small picture.
NewEntry entry_of(const Shop& shop, int number) {
  constexpr int kEntriesAKnife = 10;
  const std::string name = "photo " + std::to_string(number) + ".jpg";
  const cv::Mat pixels(300, 1200, CV_8UC3, cv::Scalar(40, number % 256, (number / 256) % 256));
  const std::vector<uchar> jpeg = encode_jpeg(pixels, 80);
  shop.photo(name, {jpeg.begin(), jpeg.end()});
  nlohmann::ordered_json json = nlohmann::ordered_json::parse(shop.report(name, {.stations = 100}));
  for (auto& station : json["stations"]) {
    station["px"] = {100.0 + 10.0 * station["x"].get<double>(), 150.0};
  }
  return {.knife = "knife " + std::to_string(number / kEntriesAKnife),
          .stage = "stage " + std::to_string(number % kEntriesAKnife),
          .report_json = json.dump(1),
          .added = kWhen};
}

double program_ms(const std::string& arguments) {
  constexpr int kRuns = 7;
  double best = 1e9;
  for (int run = 0; run < kRuns; ++run) {
    const auto start = std::chrono::steady_clock::now();
    const ProgramRun result = run_program(std::string(PROGRAM) + " record " + arguments);
    const std::chrono::duration<double, std::milli> taken =
        std::chrono::steady_clock::now() - start;
    if (result.exit_code != 0) std::cout << result.output;
    best = std::min(best, taken.count());
  }
  return best;
}

int speed(int entries) {
  const Shop shop;
  {
    Record record = shop.record();
    for (int i = 0; i < entries; ++i) record.add(entry_of(shop, i));
  }
  const std::string file = " --record " + shop.file().string();
  const std::string page = " -o " + (shop / "knife.html").string();
  std::cout << entries << " entries, database of "
            << std::filesystem::file_size(shop.file()) / 1'000'000
            << " MB; the fastest of seven runs of the program, ms\n"
            << "list        " << program_ms("list" + file) << '\n'
            << "show        " << program_ms("show 'knife 7'" + file) << '\n'
            << "first page  ";
  const auto start = std::chrono::steady_clock::now();
  run_program(std::string(PROGRAM) + " record page 'knife 7'" + file + page);
  const std::chrono::duration<double, std::milli> taken = std::chrono::steady_clock::now() - start;
  std::cout << taken.count() << '\n'
            << "page        " << program_ms("page 'knife 7'" + file + page) << '\n';
  return 0;
}

/// Seconds, once.
double program_s(const std::string& arguments) {
  const auto start = std::chrono::steady_clock::now();
  const ProgramRun result = run_program(std::string(PROGRAM) + " record " + arguments);
  if (result.exit_code != 0) std::cout << result.output;
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

int growth(int most) {
  std::cout
      << "| entries | added, ms each | list, ms | show, ms | page, ms | export to zip, s | import "
         "of the zip, s |\n|---|---|---|---|---|---|---|\n";
  for (const int entries : {most / 100, most / 10, most}) {
    const Shop shop;
    const auto start = std::chrono::steady_clock::now();
    {
      Record record = shop.record();
      for (int i = 0; i < entries; ++i) record.add(entry_of(shop, i));
    }
    const std::chrono::duration<double, std::milli> added =
        std::chrono::steady_clock::now() - start;
    const std::string file = " --record " + shop.file().string();
    const std::string zip = (shop / "everything.zip").string();
    std::cout << "| " << entries << " | " << added.count() / entries << " | "
              << program_ms("list" + file) << " | " << program_ms("show 'knife 0'" + file) << " | "
              << program_ms("page 'knife 0'" + file + " -o " + (shop / "knife.html").string())
              << " | " << program_s("export -o " + zip + file) << " | "
              << program_s("import " + zip + " --record " + (shop / "other" / "r.sqlite").string())
              << " |" << std::endl;
  }
  return 0;
}

int run(int argc, char** argv) {
  const std::string what = argc > 1 ? argv[1] : "";
  const auto number = [&](int at, int otherwise) {
    return argc > at ? std::atoi(argv[at]) : otherwise;
  };
  if (what == "kills") return kills(number(2, 500), number(3, 2));
  if (what == "speed") return speed(number(2, 5000));
  if (what == "growth") return growth(number(2, 10000));
  std::cout << "bench_record kills [COUNT] [SEED] | speed [ENTRIES] | growth [ENTRIES]\n";
  return 2;
}

}  // namespace
}  // namespace evenbevel::test

int main(int argc, char** argv) { return evenbevel::test::run(argc, argv); }
