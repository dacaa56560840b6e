// The page's requests with the sample photos: what is on the bench is measured and kept.

#include <array>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <opencv2/core.hpp>
#include <opencv2/wechat_qrcode.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/record.hpp"
#include "running_bench.hpp"

namespace evenbevel {
namespace {

using nlohmann::json;
using test::HttpReply;
using test::RunningBench;
using testing::HasSubstr;

std::string sample(const std::string& name) {
  return test::file_text(SOURCE_FOLDER "/sample-images/" + name);
}

/// @return  The page's state when the photo is done.
json send_photo(const RunningBench& bench, const std::string& name) {
  const HttpReply reply = bench.post("/photo", sample(name));
  EXPECT_EQ(reply.status, 200) << reply.body;
  return bench.job_done(reply.json()["job"]);
}

TEST(BenchMeasuresSamplePhotos, AnEdgeIsMeasuredShownAndKept) {
  const RunningBench bench;
  ASSERT_EQ(bench.choose({{"view", "edge"}, {"knife", "heron"}, {"thickness", "3.4mm"}}).status,
            200);
  const json job = send_photo(bench, "edge-ground-offcentre.jpg")["job"];
  ASSERT_EQ(job["state"], "measured") << job;
  EXPECT_THAT(job["said"]["headline"].get<std::string>(), HasSubstr("mm"));
  EXPECT_THAT(job["said"]["rows"][0]["label"].get<std::string>(), HasSubstr("centreline offset"));
  EXPECT_THAT(job["said"]["rows"][0]["U95"].get<std::string>(), HasSubstr("mm"));
  EXPECT_FALSE(job["said"]["next"].empty());
  const std::string of_job = "?job=" + job["id"].dump();
  EXPECT_THAT(bench.get("/picture.jpg" + of_job).body, testing::StartsWith("\xFF\xD8"));
  const HttpReply report = bench.get("/report.html" + of_job);
  EXPECT_THAT(report.body, HasSubstr("centreline offset"));
  EXPECT_THAT(report.head, HasSubstr("Content-Security-Policy: "));

  const json asked = {{"job", job["id"]}, {"knife", "heron"}, {"stage", "120 grit"}};
  ASSERT_EQ(bench.post("/keep", asked.dump()).status, 200);
  const json kept = bench.job_done(job["id"])["job"];
  EXPECT_EQ(kept["keeping"], "kept") << kept;
  // Asked twice, as a thumb does: it is in once.
  EXPECT_EQ(bench.post("/keep", asked.dump()).status, 200);
  bench.job_done(job["id"]);
  Record record = Record::open(bench.record_file());
  const Knife knife = record.knife("heron");
  ASSERT_EQ(knife.entries.size(), 1U);
  EXPECT_EQ(knife.entries.front().stage, "120 grit");
  EXPECT_EQ(knife.entries.front().photos.size(), 1U);
  EXPECT_DOUBLE_EQ(knife.facts.at(KnifeFact::thickness), 3.4);
  EXPECT_TRUE(check_record(bench.record_file()).faults.empty());
  // The next time the knife brings its thickness.
  const json again = bench.choose({{"view", "edge"}, {"knife", "heron"}}).json();
  EXPECT_EQ(again["thickness"], "3.4 mm");
  EXPECT_TRUE(again["ready"]);
}

/// The bench of a shop; what the page says to shop.toml is written down here.
BenchSettings shop_with_tolerance(double mm, std::vector<std::string>& written) {
  BenchSettings settings;
  settings.of_shop[KnifeFact::tolerance] = mm;
  settings.say_to_shop = [&written](KnifeFact fact, std::optional<double> said) {
    written.push_back(std::string(name(fact)) + (said ? " " + std::to_string(*said) : " none"));
  };
  return settings;
}

json report_of(const RunningBench& bench, int job) {
  for (const auto& folder : std::filesystem::directory_iterator(bench.folder() / "reports")) {
    if (folder.path().string().find("-" + std::to_string(job) + "-") == std::string::npos) continue;
    return json::parse(test::file_text(folder.path() / "report.json"));
  }
  return {};
}

// The sample's worst place is 0.083 mm off the middle.
TEST(BenchMeasuresSamplePhotos, TheVerdictFollowsTheToleranceThatThePageSets) {
  std::vector<std::string> written;
  const RunningBench bench(shop_with_tolerance(0.05, written));
  json choice = {{"view", "edge"}, {"knife", "heron"}, {"thickness", "3.4mm"}};
  const json chosen = bench.choose(choice).json();
  EXPECT_EQ(chosen["tolerance"], "0.05 mm");
  EXPECT_EQ(chosen["tolerance_from"], "shop");
  const json first = send_photo(bench, "edge-ground-offcentre.jpg")["job"];
  EXPECT_EQ(first["said"]["verdict"], "outside") << first;

  choice["tolerance"] = "0.2mm";
  const json changed = bench.choose(choice).json();
  EXPECT_EQ(changed["tolerance_from"], "knife");
  ASSERT_GT(changed["judged_anew"], 0) << changed;
  const json judged = bench.job_done(changed["judged_anew"])["job"];
  EXPECT_EQ(judged["said"]["verdict"], "within") << judged;
  EXPECT_EQ(judged["step"], first["step"]) << "the same photo, no other one";
  const json settings = report_of(bench, judged["id"])["settings"];
  EXPECT_DOUBLE_EQ(settings["tolerance"], 0.2);
  EXPECT_EQ(settings["from"]["tolerance"], "knife");
  EXPECT_DOUBLE_EQ(Record::open(bench.record_file()).facts("heron").at(KnifeFact::tolerance), 0.2);

  choice["tolerance"] = "";
  const json taken_back = bench.choose(choice).json();
  EXPECT_EQ(taken_back["tolerance"], "0.05 mm") << "the shop's counts again";
  bench.job_done(taken_back["judged_anew"]);
  EXPECT_FALSE(Record::open(bench.record_file()).facts("heron").contains(KnifeFact::tolerance));
  EXPECT_THAT(written, testing::IsEmpty()) << "a knife's own tolerance is not the shop's";
}

TEST(BenchMeasuresClosedForm, WithoutAKnifeAToleranceIsTheShopsAndEachViewHasItsOwn) {
  std::vector<std::string> written;
  RunningBench bench(shop_with_tolerance(0.05, written));
  json choice = {{"view", "faces"}, {"thickness", "3mm"}, {"tolerance", "0.3"}};
  json state = bench.choose(choice).json();
  EXPECT_EQ(state["tolerance"], "0.3 mm") << "a bare number is in the shop's unit";
  EXPECT_THAT(state["tolerance_of"].get<std::string>(), HasSubstr("plunge lines"));
  state = bench.choose({{"view", "section"}, {"tolerance", "0.1mm"}}).json();
  EXPECT_EQ(state["tolerance_from"], "shop");
  state = bench.choose({{"view", "edge"}, {"thickness", "3mm"}, {"tolerance", ""}}).json();
  EXPECT_EQ(state["tolerance"], "");
  state = bench.choose({{"view", "practice"}}).json();
  EXPECT_EQ(state["tolerance_of"], "");
  EXPECT_EQ(bench.choose({{"view", "faces"}, {"thickness", "3mm"}}).json()["tolerance"], "0.3 mm");
  EXPECT_EQ(bench.choose({{"view", "edge"}, {"tolerance", "wide"}}).status, 409);
  EXPECT_EQ(bench.choose({{"view", "edge"}, {"tolerance", "-1mm"}}).status, 409);
  bench.stop();
  EXPECT_THAT(written, testing::ElementsAre("side-tolerance 0.300000", "choil-tolerance 0.100000",
                                            "tolerance none"));
}

TEST(BenchMeasuresBadInput, AToleranceThatCannotBeKeptIsSaid) {
  BenchSettings settings;
  settings.say_to_shop = [](KnifeFact, std::optional<double>) {
    throw Error("shop.toml cannot be written", "check your rights there");
  };
  const RunningBench bench(settings);
  json state = bench.choose({{"view", "edge"}, {"thickness", "3mm"}, {"tolerance", "1mm"}}).json();
  for (int i = 0; i < 500 && state["fault"].is_null(); ++i) {
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
    state = bench.get("/state").json();
  }
  EXPECT_THAT(state["fault"]["wrong"].get<std::string>(), HasSubstr("cannot be written"));
  EXPECT_EQ(state["tolerance"], "1 mm") << "it counts all the same";
}

TEST(BenchMeasuresSamplePhotos, APairIsGuidedThroughBothPhotos) {
  const RunningBench bench;
  const json first = bench.choose({{"view", "pair"}, {"thickness", "3mm"}}).json();
  EXPECT_EQ(first["step"], 1);
  const json one = send_photo(bench, "edge-turned-a.jpg");
  EXPECT_EQ(one["job"]["state"], "measured") << one;
  EXPECT_EQ(one["step"], 2);
  const json judged =
      bench.choose({{"view", "pair"}, {"thickness", "3mm"}, {"tolerance", "0.1mm"}}).json();
  EXPECT_EQ(bench.job_done(judged["judged_anew"])["step"], 2)
      << "a tolerance does not begin a new pair";
  EXPECT_THAT(one["guide"].get<std::string>(), HasSubstr("turn the blade end for end"));
  const json refused = send_photo(bench, "edge-no-card.jpg");
  EXPECT_EQ(refused["job"]["state"], "refused");
  EXPECT_EQ(refused["step"], 2) << "a refused photo takes no place";
  const json both = send_photo(bench, "edge-turned-b.jpg");
  EXPECT_EQ(both["job"]["state"], "measured") << both;
  EXPECT_EQ(both["job"]["step"], 2);
  EXPECT_EQ(both["step"], 1) << "the next photo begins a new pair";
  const json again = bench.post("/again", "").json();
  EXPECT_EQ(again["step"], 2) << "taken again, the second place is free";
  EXPECT_EQ(again["begun"], 1);
  const json over = bench.post("/start-over", "").json();
  EXPECT_EQ(over["step"], 1) << "started over, both are";
  EXPECT_EQ(over["begun"], 0);
}

TEST(BenchMeasuresSamplePhotos, TwoFacesTheSectionAndThePracticeStripAreMeasured) {
  const RunningBench bench;
  ASSERT_EQ(bench.choose({{"view", "faces"}, {"thickness", "3mm"}}).status, 200);
  EXPECT_EQ(send_photo(bench, "side-clean-left.jpg")["job"]["state"], "measured");
  const json faces = send_photo(bench, "side-clean-right.jpg")["job"];
  EXPECT_EQ(faces["state"], "measured") << faces;
  EXPECT_EQ(faces["step"], 2);
  ASSERT_EQ(bench.choose({{"view", "section"}}).status, 200);
  EXPECT_EQ(send_photo(bench, "choil-symmetric.jpg")["job"]["state"], "measured");
  ASSERT_EQ(bench.choose({{"view", "practice"}}).status, 200);
  const json strip = send_photo(bench, "practice-true.jpg")["job"];
  EXPECT_EQ(strip["state"], "measured") << strip;
  EXPECT_FALSE(strip["can_keep"]);
}

TEST(BenchMeasuresSamplePhotos, ScratchesAreCountedFromTheFirstLampPlaceOn) {
  const RunningBench bench;
  ASSERT_EQ(bench.choose({{"view", "finish-left"}, {"thickness", "3.2mm"}}).status, 200);
  EXPECT_EQ(send_photo(bench, "finish-scratched-1.jpg")["job"]["state"], "measured");
  const json two = send_photo(bench, "finish-scratched-2.jpg")["job"];
  EXPECT_EQ(two["state"], "measured") << two;
  EXPECT_EQ(two["step"], 2);
  EXPECT_EQ(two["steps"], 4);
  EXPECT_TRUE(two["can_keep"]);
}

TEST(BenchMeasuresBadInput, ARefusalSaysWhatIsWrongAndWhatToDo) {
  const RunningBench bench;
  ASSERT_EQ(bench.choose({{"view", "edge"}, {"thickness", "3.4mm"}}).status, 200);
  const json job = send_photo(bench, "edge-no-blade.jpg")["job"];
  EXPECT_EQ(job["state"], "refused");
  EXPECT_FALSE(job["said"]["wrong"].get<std::string>().empty());
  EXPECT_FALSE(job["said"]["todo"].get<std::string>().empty());
  EXPECT_EQ(bench.post("/keep", json{{"job", job["id"]}, {"knife", "heron"}, {"stage", "1"}}.dump())
                .status,
            409);
}

// Scribed lines look alike from both ends: where the tip points, its maker has to say.
TEST(BenchMeasuresSamplePhotos, AnAnswerMeasuresTheRefusedPhotoAfterAll) {
  const RunningBench bench;
  ASSERT_EQ(bench.choose({{"view", "edge"}, {"thickness", "3.4mm"}}).status, 200);
  const json refused = send_photo(bench, "edge-scribed-dye.jpg")["job"];
  ASSERT_EQ(refused["state"], "refused") << refused;
  EXPECT_EQ(refused["questions"], json({"tip"}));
  EXPECT_THAT(refused["said"]["todo"].get<std::string>(), HasSubstr("say below where the tip"));
  const auto answered = [&](const json& answer) {
    const HttpReply reply = bench.post("/answer", answer.dump());
    EXPECT_EQ(reply.status, 200) << reply.body;
    return bench.job_done(reply.json()["job"]["id"])["job"];
  };
  const json right = answered({{"job", refused["id"]}, {"tip", "right"}});
  ASSERT_EQ(right["state"], "measured") << right;
  EXPECT_NE(right["id"], refused["id"]);
  EXPECT_TRUE(right["questions"].empty());
  EXPECT_THAT(right["said"]["headline"].get<std::string>(), HasSubstr("LEFT"));
  // It holds for this photo alone: the next blade may lie the other way round.
  ASSERT_EQ(bench.choose({{"view", "edge"}, {"thickness", "3mm"}}).status, 200);
  EXPECT_EQ(send_photo(bench, "edge-scribed-bare.jpg")["job"]["questions"], json({"tip"}));
}

TEST(BenchMeasuresBadInput, AnAnswerThatNobodyAskedForIsRefused) {
  const RunningBench bench;
  ASSERT_EQ(bench.choose({{"view", "edge"}, {"thickness", "3.4mm"}}).status, 200);
  const json refused = send_photo(bench, "edge-no-card.jpg")["job"];
  ASSERT_EQ(refused["state"], "refused");
  for (const char* answer : {R"({"job":1,"tip":"right"})", R"({"job":99,"tip":"right"})",
                             R"({"job":1,"tip":"up"})", R"({"job":1})"}) {
    EXPECT_EQ(bench.post("/answer", answer).status, 409) << answer;
  }
}

TEST(BenchMeasuresProperty, WhatIsBeingMeasuredAtTheEndIsFinished) {
  RunningBench bench;
  ASSERT_EQ(bench.choose({{"view", "edge"}, {"thickness", "3.4mm"}}).status, 200);
  for (const char* name : {"edge-ground-offcentre.jpg", "edge-ground-centred.jpg"}) {
    ASSERT_EQ(bench.post("/photo", sample(name)).status, 200);
  }
  const std::size_t waiting = bench.stop();
  EXPECT_EQ(bench.stored().size(), 2U);
  std::size_t whole = 0;
  for (const auto& report : std::filesystem::directory_iterator(bench.folder() / "reports")) {
    EXPECT_TRUE(std::filesystem::exists(report.path() / "report.json"));
    EXPECT_TRUE(std::filesystem::exists(report.path() / "report.html"));
    ++whole;
  }
  EXPECT_EQ(whole + waiting, 2U) << "each photo is measured whole or told as waiting";
}

TEST(BenchMeasuresBadInput, APortThatIsTakenIsNamed) {
  const RunningBench bench;
  BenchSettings second;
  second.port = bench.port();
  second.local = true;
  second.folder = bench.scratch() / "second";
  try {
    const BenchServer server(second);
    FAIL() << "it listens at a port that is taken";
  } catch (const Error& e) {
    EXPECT_THAT(e.what(), HasSubstr(std::to_string(bench.port())));
    EXPECT_THAT(e.do_next(), HasSubstr("--port"));
  }
}

/// The code as a camera sees the terminal, dark around it: each character two rows of modules.
cv::Mat seen_in_terminal(const std::string& lines) {
  constexpr int kPx = 8;
  std::vector<std::vector<bool>> light;  // by module
  std::vector<bool> upper, lower;
  for (std::size_t at = 0; at < lines.size(); ++at) {
    if (lines[at] == '\x1b') {
      at = lines.find('m', at);
    } else if (lines[at] == '\n') {
      light.push_back(std::exchange(upper, {}));
      light.push_back(std::exchange(lower, {}));
    } else if (lines[at] == ' ') {
      upper.push_back(true), lower.push_back(true);
    } else {
      const std::string block = lines.substr(at, 3);
      upper.push_back(block == "\u2584");
      lower.push_back(block == "\u2580");
      at += 2;
    }
  }
  const int size = static_cast<int>(light.front().size());
  cv::Mat picture(cv::Size(size, static_cast<int>(light.size())), CV_8UC1, cv::Scalar(0));
  for (int y = 0; y < picture.rows; ++y) {
    for (int x = 0; x < size; ++x) {
      const auto row = static_cast<std::size_t>(y), column = static_cast<std::size_t>(x);
      if (light[row][column]) picture.at<unsigned char>(y, x) = 255;
    }
  }
  cv::Mat large;
  cv::repeat(cv::Mat(kPx, kPx, CV_8UC1, cv::Scalar(1)), picture.rows, picture.cols, large);
  for (int y = 0; y < large.rows; ++y) {
    for (int x = 0; x < large.cols; ++x) {
      large.at<unsigned char>(y, x) = picture.at<unsigned char>(y / kPx, x / kPx);
    }
  }
  cv::Mat terminal(large.rows + 160, large.cols + 160, CV_8UC1, cv::Scalar(0));
  large.copyTo(terminal(cv::Rect(80, 80, large.cols, large.rows)));
  return terminal;
}

TEST(BenchCodeOutside, AnotherProgramReadsItFromADarkTerminal) {
  const std::string address = "http://192.168.178.120:8460/?t=0123456789abcdef0123456789abcdef";
  cv::wechat_qrcode::WeChatQRCode reader;
  EXPECT_THAT(reader.detectAndDecode(seen_in_terminal(qr_for_terminal(address))),
              testing::ElementsAre(address));
}

}  // namespace
}  // namespace evenbevel
