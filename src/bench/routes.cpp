#include "bench/routes.hpp"

#include <charconv>
#include <fstream>
#include <iterator>
#include <utility>

#include "bench/guard.hpp"
#include "bench/job_words.hpp"
#include "embedded/bench.css.hpp"
#include "embedded/bench.html.hpp"
#include "embedded/bench.js.hpp"

namespace evenbevel::bench {
namespace {

using nlohmann::json;

constexpr std::size_t kMostJsonBytes = 16'384;
constexpr const char* kPolicy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src "
    "'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
/// A report says itself, by their hashes, which of its scripts may run.
constexpr const char* kReportPolicy =
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'; connect-src 'none'";

Answer json_answer(int status, const json& value) {
  return {status, "application/json", text_of(value), {}};
}

Answer problem(int status, const std::string& wrong, const std::string& todo) {
  return json_answer(status, {{"wrong", wrong}, {"todo", todo}});
}

Answer with_policy(Answer answer, const char* policy) {
  answer.headers.emplace_back("Content-Security-Policy", policy);
  return answer;
}

std::optional<int> job_asked(const RequestHead& head) {
  const std::string text = query_value(head.target, "job");
  int job = 0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), job);
  if (fault != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return job;
}

Answer file_answer(const std::optional<std::filesystem::path>& path, const char* type) {
  if (!path) return problem(404, "there is no such report", "take the photo again");
  std::ifstream file(*path, std::ios::binary);
  if (!file) return problem(404, "the report is not there any more", "take the photo again");
  return with_policy(
      {200, type, {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()}, {}},
      kReportPolicy);
}

/// An object's text; empty where there is none.
std::string text_in(const json& object, const char* key) {
  const auto found = object.find(key);
  return found != object.end() && found->is_string() ? found->get<std::string>() : "";
}

std::optional<std::string> text_if_in(const json& object, const char* key) {
  return object.contains(key) ? std::optional(text_in(object, key)) : std::nullopt;
}

int number_in(const json& object, const char* key) {
  const auto found = object.find(key);
  return found != object.end() && found->is_number_integer() ? found->get<int>() : 0;
}

/// @throws Error  No such answer.
PhotoAnswers answers_in(const json& object) {
  PhotoAnswers answers;
  const std::string tip = text_in(object, "tip"), shows = text_in(object, "shows");
  if (tip == "left" || tip == "right") answers.tip = tip == "left" ? Tip::left : Tip::right;
  for (const Stage stage : {Stage::scribed, Stage::ground, Stage::bevelled}) {
    if (shows == name(stage)) answers.shows = stage;
  }
  if (answers.tip || answers.shows) return answers;
  throw Error("the answer is not understood", "reload the page");
}

}  // namespace

Routes::Routes(OnBench& bench, LiveBench* live, const BenchSettings& settings, std::string token)
    : bench_(bench),
      live_(live),
      token_(std::move(token)),
      cookie_("evenbevel-" + random_token().substr(0, 8)),
      photo_bytes_(settings.limits.photo_bytes),
      unit_(settings.unit),
      secure_(!settings.certificate.empty()) {}

Handling Routes::handling() {
  return {.admit = [this](const RequestHead& head) { return admit(head); },
          .answer = [this](const RequestHead& head,
                           const RequestBody& body) { return answer(head, body); }};
}

bool Routes::may_enter(const RequestHead& head) const {
  if (same_secret(cookie_value(head.cookie, cookie_), token_)) return true;
  return path_of(head.target) == "/" && same_secret(query_value(head.target, "t"), token_);
}

Admission Routes::admit(const RequestHead& head) {
  if (!host_allowed(head.host)) {
    return {.refusal = problem(421,
                               "the page is asked for under a name that is not this "
                               "computer's address",
                               "open the address that 'evenbevel bench' shows")};
  }
  if (!may_enter(head)) {
    return {.refusal = Answer{403,
                              "text/plain; charset=utf-8",
                              "This page opens with the code that 'evenbevel bench' shows: scan it "
                              "again, or type the whole address.\n",
                              {}}};
  }
  if (head.method == "GET") return {};
  if (head.method != "POST" || !head.by_page) {
    return {.refusal = problem(405, "the request is not the page's own", "reload the page")};
  }
  if (path_of(head.target) != "/photo") return {.most_bytes = kMostJsonBytes};
  try {
    bench_.require_ready();
  } catch (const Error& e) {
    return {.refusal = json_answer(409, words_of(e, unit_))};
  }
  return {.most_bytes = photo_bytes_, .into_file = bench_.incoming_file()};
}

Answer Routes::answer(const RequestHead& head, const RequestBody& body) {
  try {
    return head.method == "GET" ? get(head) : post(head, body);
  } catch (const Error& e) {
    return json_answer(409, words_of(e, unit_));
  } catch (const json::exception&) {
    return problem(400, "the request is not understood", "reload the page");
  }
}

Answer Routes::page(const RequestHead& head) const {
  Answer page = with_policy({200, "text/html; charset=utf-8", embedded::kBenchPage, {}}, kPolicy);
  if (!query_value(head.target, "t").empty()) {
    page.headers.emplace_back("Set-Cookie", cookie_ + "=" + token_ +
                                                "; Path=/; HttpOnly; SameSite=Strict" +
                                                (secure_ ? "; Secure" : ""));
  }
  return page;
}

Answer Routes::get(const RequestHead& head) {
  const std::string_view path = path_of(head.target);
  if (path == "/") return page(head);
  if (path == "/bench.css") return {200, "text/css; charset=utf-8", embedded::kBenchStyle, {}};
  if (path == "/bench.js")
    return {200, "text/javascript; charset=utf-8", embedded::kBenchScript, {}};
  if (path == "/state") return json_answer(200, bench_.state(job_asked(head)));
  if (path == "/live") return live_state();
  if (path == "/live.jpg") return live_picture();
  const std::optional<int> job = job_asked(head);
  if (path == "/picture.jpg") {
    return file_answer(job ? bench_.picture_file(*job) : std::nullopt, "image/jpeg");
  }
  if (path == "/report.html") {
    return file_answer(job ? bench_.report_file(*job) : std::nullopt, "text/html; charset=utf-8");
  }
  return problem(404, "there is no such page", "reload the page");
}

LiveBench& Routes::camera() const {
  if (live_ != nullptr) return *live_;
  throw Error("this bench has no camera of its own",
              "plug one into the computer and start the bench with its number");
}

Answer Routes::live_state() { return json_answer(200, camera().state()); }

Answer Routes::live_picture() {
  std::string jpeg = camera().picture();
  if (jpeg.empty()) return problem(404, "the camera has shown no picture yet", "wait for it");
  return {200, "image/jpeg", std::move(jpeg), {}};
}

Answer Routes::live_order(const RequestBody& body) {
  const std::string what = text_in(json::parse(body.text), "do");
  if (what == "take") {
    camera().take();
  } else if (what == "focus") {
    camera().focus_anew();
  } else if (what == "by itself" || what == "by hand") {
    camera().by_itself(what == "by itself");
  } else {
    return problem(400, "the request is not understood", "reload the page");
  }
  return live_state();
}

Answer Routes::post(const RequestHead& head, const RequestBody& body) {
  const std::string_view path = path_of(head.target);
  if (path == "/photo") return json_answer(200, {{"job", bench_.add_photo(body.file)}});
  if (path == "/again") {
    bench_.again();
    return json_answer(200, bench_.state({}));
  }
  if (path == "/start-over") {
    bench_.start_over();
    return json_answer(200, bench_.state({}));
  }
  if (path == "/live") return live_order(body);
  const json said = json::parse(body.text);
  if (path == "/choose") {
    const int judged_anew = bench_.choose({.view = text_in(said, "view"),
                                           .knife = text_in(said, "knife"),
                                           .stage = text_in(said, "stage"),
                                           .thickness = text_in(said, "thickness"),
                                           .tolerance = text_if_in(said, "tolerance")});
    json state = bench_.state({});
    state["judged_anew"] = judged_anew;
    return json_answer(200, state);
  }
  if (path == "/answer") {
    const int job = bench_.answer(number_in(said, "job"), answers_in(said));
    return json_answer(200, bench_.state(job));
  }
  if (path == "/keep") {
    const int job = number_in(said, "job");
    bench_.keep(job, text_in(said, "knife"), text_in(said, "stage"));
    return json_answer(200, bench_.state(job));
  }
  return problem(404, "there is no such page", "reload the page");
}

}  // namespace evenbevel::bench
