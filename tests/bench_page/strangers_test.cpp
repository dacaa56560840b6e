// What strangers on the shop's network may try, by raw sockets.

#include <atomic>
#include <memory>
#include <thread>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "running_bench.hpp"

namespace evenbevel {
namespace {

using std::chrono::milliseconds;
using test::HttpReply;
using test::RawConnection;
using test::RunningBench;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

std::string upload_head(const RunningBench& bench, const std::string& length_line) {
  return "POST /photo HTTP/1.1\r\nHost: 127.0.0.1\r\n" + bench.entered() + length_line + "\r\n\r\n";
}

/// What was begun is removed a moment after the sender was let go; a file left over hangs the test.
void wait_until_nothing_is_stored(const RunningBench& bench) {
  while (!bench.stored().empty()) std::this_thread::sleep_for(milliseconds(10));
}

void put_practice_on(const RunningBench& bench) {
  ASSERT_EQ(bench.choose({{"view", "practice"}}).status, 200);
}

TEST(BenchStrangersBadInput, NobodyEntersWithoutTheToken) {
  const RunningBench bench;
  for (const char* target : {"/", "/bench.js", "/bench.css", "/state", "/picture.jpg?job=1",
                             "/?t=", "/?T=x", "/nothing"}) {
    const HttpReply reply = bench.ask({.target = target});
    EXPECT_EQ(reply.status, 403) << target;
    EXPECT_THAT(reply.body, Not(HasSubstr("<"))) << target;
  }
  for (const char* target : {"/photo", "/choose", "/keep", "/again"}) {
    const HttpReply reply = bench.ask(
        {.method = "POST", .target = target, .headers = "X-Bench-Page: 1\r\n", .body = "{}"});
    EXPECT_EQ(reply.status, 403) << target;
  }
  EXPECT_THAT(bench.stored(), IsEmpty());
}

TEST(BenchStrangersBadInput, NobodyEntersWithAnotherToken) {
  const RunningBench bench;
  std::string wrong = bench.token();
  wrong.back() = wrong.back() == '0' ? '1' : '0';
  for (const std::string& token : {wrong, bench.token().substr(1), bench.token() + "0"}) {
    EXPECT_EQ(bench.ask({.target = "/?t=" + token}).status, 403);
    std::string cookie = bench.entered();
    cookie.replace(cookie.find(bench.token()), bench.token().size(), token);
    EXPECT_EQ(bench.ask({.target = "/state", .headers = cookie}).status, 403);
  }
  // The token opens the page; what else there is opens by the cookie alone.
  EXPECT_EQ(bench.ask({.target = "/state?t=" + bench.token()}).status, 403);
  EXPECT_EQ(bench.ask({.target = "/?t=" + bench.token()}).status, 200);
  EXPECT_EQ(bench.get("/state").status, 200);
}

TEST(BenchStrangersBadInput, AnotherNameForThisComputerIsRefused) {
  const RunningBench bench;
  for (const char* host : {"Host: evil.example\r\n", "Host: 127.0.0.1.evil.example\r\n",
                           "Host: 127.0.0.1\r\nHost: evil.example\r\n", "Host: \r\n"}) {
    const HttpReply reply =
        bench.ask({.target = "/?t=" + bench.token(), .headers = host + bench.entered()});
    EXPECT_EQ(reply.status, 421) << host;
  }
}

TEST(BenchStrangersBadInput, AForeignPagesFormIsRefused) {
  const RunningBench bench;
  std::string cookie_only = bench.entered();
  cookie_only.erase(cookie_only.find("X-Bench-Page"));
  const HttpReply reply = bench.ask({.method = "POST",
                                     .target = "/choose",
                                     .headers = cookie_only,
                                     .body = R"({"view":"section"})"});
  EXPECT_EQ(reply.status, 405);
  EXPECT_EQ(bench.get("/state").json()["view"], "edge");
  EXPECT_EQ(bench.ask({.method = "DELETE", .target = "/photo", .headers = bench.entered()}).status,
            405);
}

TEST(BenchStrangersBadInput, TwoHundredMegabytesAreRefused) {
  const RunningBench bench;
  put_practice_on(bench);
  RawConnection told(bench.port());
  told.send(upload_head(bench, "Content-Length: 200000000"));
  EXPECT_THAT(told.read_to_end(), HasSubstr("413"));

  RawConnection chunked(bench.port());
  chunked.send(upload_head(bench, "Transfer-Encoding: chunked"));
  const std::string chunk = "100000\r\n" + std::string(0x100000, 'x') + "\r\n";
  // Never ended: without a limit it would wait for more, its part in the folder.
  for (int sent = 0; sent < 200 && chunked.send(chunk); ++sent) {
  }
  chunked.read_to_end();
  wait_until_nothing_is_stored(bench);
  EXPECT_TRUE(bench.get("/state").json()["job"].is_null());
}

TEST(BenchStrangersBadInput, AnEndlessHeaderIsRefused) {
  const RunningBench bench;
  RawConnection connection(bench.port());
  connection.send("GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX: " + std::string(64'000, 'x'));
  EXPECT_THAT(connection.read_to_end(), HasSubstr("431"));
  EXPECT_EQ(bench.get("/state").status, 200);
}

TEST(BenchStrangersBadInput, SlowSendersAreLetGo) {
  const RunningBench bench(
      test::with_limits({.header_time = milliseconds(600), .chunk_time = milliseconds(600)}));
  put_practice_on(bench);
  RawConnection header(bench.port());
  header.send("GET / HTTP/1.1\r\nHo");
  EXPECT_EQ(header.read_to_end(), "");

  RawConnection body(bench.port());
  body.send(upload_head(bench, "Content-Length: 1000000") + "a few bytes");
  EXPECT_EQ(body.read_to_end(), "");
  wait_until_nothing_is_stored(bench);
}

TEST(BenchStrangersBadInput, SilentConnectionsDoNotKeepTheMakerOut) {
  const RunningBench bench(test::with_limits({.connections = 8}));
  std::vector<std::unique_ptr<RawConnection>> silent;
  for (int i = 0; i < 50; ++i) silent.push_back(std::make_unique<RawConnection>(bench.port()));
  EXPECT_EQ(bench.get("/state").status, 200);
}

TEST(BenchStrangersBadInput, NoPhotoIsRefusedWithWords) {
  const RunningBench bench;
  put_practice_on(bench);
  for (const std::string& body :
       {std::string("no photo"), std::string("\xFF\xD8\xFF and then nothing"),
        std::string(1, '\0')}) {
    const HttpReply reply = bench.post("/photo", body);
    ASSERT_EQ(reply.status, 200) << reply.body;
    const nlohmann::json job = bench.job_done(reply.json()["job"])["job"];
    EXPECT_EQ(job["state"], "refused");
    EXPECT_THAT(job["said"]["wrong"].get<std::string>(), HasSubstr("the photo"));
    EXPECT_THAT(job.dump(), Not(HasSubstr(bench.scratch().string())));
    EXPECT_EQ(bench.get("/picture.jpg?job=" + job["id"].dump()).status, 404);
  }
}

TEST(BenchStrangersBadInput, WithoutItsThicknessABladeIsNotTaken) {
  const RunningBench bench;
  const HttpReply reply = bench.post("/photo", "a photo");
  EXPECT_EQ(reply.status, 409);
  EXPECT_THAT(reply.json()["wrong"].get<std::string>(), HasSubstr("thickness"));
  EXPECT_THAT(bench.stored(), IsEmpty());
  for (const char* thickness : {"thick", "-3mm", "0mm", "1e999mm"}) {
    EXPECT_EQ(bench.choose({{"view", "edge"}, {"thickness", thickness}}).status, 409) << thickness;
  }
}

TEST(BenchStrangersBadInput, PathsLeadNowhere) {
  const RunningBench bench;
  put_practice_on(bench);
  for (const char* target :
       {"/../../etc/passwd", "/..%2f..%2fetc%2fpasswd", "//etc/passwd", "/picture.jpg?job=../1",
        "/picture.jpg?job=1/../..", "/report.html?job=99999999999999", "/photos/", "/photo"}) {
    const HttpReply reply = bench.get(target);
    EXPECT_EQ(reply.status, 404) << target;
    EXPECT_THAT(reply.body, Not(HasSubstr("root:"))) << target;
  }
  const int job = bench
                      .ask({.method = "POST",
                            .target = "/photo",
                            .headers = bench.entered() + "Content-Disposition: form-data; "
                                                         "filename=\"../../../outside.jpg\"\r\n",
                            .body = "\xFF\xD8 no photo"})
                      .json()["job"];
  bench.job_done(job);
  EXPECT_THAT(bench.stored(), testing::ElementsAre(testing::MatchesRegex("[0-9a-f]{64}\\.jpg")));
}

TEST(BenchStrangersBadInput, AScriptAsAKnifesNameStaysText) {
  const RunningBench bench;
  const std::string name = "<script>alert(1)</script>\"';--";
  const HttpReply chosen = bench.choose({{"view", "edge"}, {"knife", name}});
  EXPECT_EQ(chosen.json()["knife"], name);
  EXPECT_THAT(chosen.head, HasSubstr("Content-Type: application/json"));
  EXPECT_THAT(chosen.head, HasSubstr("nosniff"));
  const HttpReply page = bench.get("/");
  EXPECT_THAT(page.body, Not(HasSubstr("alert(1)")));
  EXPECT_THAT(page.head, HasSubstr("Content-Security-Policy: default-src 'none'; script-src "
                                   "'self'; style-src 'self';"));
  EXPECT_EQ(bench.choose({{"view", "edge"}, {"knife", std::string(1000, 'x')}}).status, 409);
}

TEST(BenchStrangersBadInput, WhatIsNoRequestIsAnswered) {
  const RunningBench bench;
  for (const char* body : {"{", "[]", "null", "\"x\"", "{\"view\": 7}", "{\"view\":\"lathe\"}"}) {
    const int status = bench.post("/choose", body).status;
    EXPECT_TRUE(status == 400 || status == 409) << body << status;
  }
  EXPECT_EQ(bench.post("/choose", std::string(100'000, ' ')).status, 413);
  RawConnection noise(bench.port());
  noise.send("\x16\x03\x01 hello\r\n\r\n");
  EXPECT_THAT(noise.read_to_end(), HasSubstr("400"));
  EXPECT_EQ(bench.get("/state").status, 200);
}

TEST(BenchStrangersBadInput, AConnectionLostInMidUploadLeavesNothing) {
  const RunningBench bench;
  put_practice_on(bench);
  for (int i = 0; i < 5; ++i) {
    RawConnection lost(bench.port());
    lost.send(upload_head(bench, "Content-Length: 1000000") + std::string(300'000, 'x'));
    lost.drop();
  }
  EXPECT_TRUE(bench.get("/state").json()["job"].is_null());
  // Answered after those before it were seen to be gone.
  wait_until_nothing_is_stored(bench);
  EXPECT_TRUE(bench.get("/state").json()["job"].is_null());
}

TEST(BenchStrangersProperty, FiftyUploadsAtOnceAreAllTaken) {
  const RunningBench bench;
  put_practice_on(bench);
  std::atomic<int> taken = 0;
  std::vector<std::thread> phones;
  for (int i = 0; i < 50; ++i) {
    phones.emplace_back([&, i] {
      const std::string body = "\xFF\xD8 no photo, number " + std::to_string(i / 2);
      if (bench.post("/photo", body).status == 200) ++taken;
    });
  }
  for (std::thread& phone : phones) phone.join();
  EXPECT_EQ(taken, 50);
  EXPECT_EQ(bench.stored().size(), 25U);
  EXPECT_EQ(bench.job_done(25)["job"]["state"], "refused");
}

TEST(BenchStrangersBadInput, MorePhotosThanMayWaitAreSentBack) {
  const RunningBench bench(test::with_limits({.waiting_photos = 0}));
  put_practice_on(bench);
  const HttpReply reply = bench.post("/photo", "a photo");
  EXPECT_EQ(reply.status, 409);
  EXPECT_THAT(reply.json()["wrong"].get<std::string>(), HasSubstr("waiting"));
  EXPECT_THAT(bench.stored(), IsEmpty());
}

}  // namespace
}  // namespace evenbevel
