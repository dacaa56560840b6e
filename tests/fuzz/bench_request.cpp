// A request to the bench page, as the server hands it on: lines with method, target, host, cookie
// and marks (p: by the page, c: with the page's own cookie), then the body.

#include <algorithm>
#include <memory>
#include <optional>

#include <nlohmann/json.hpp>

#include "bench/on_bench.hpp"
#include "bench/routes.hpp"
#include "fuzz.hpp"
#include "units/sha256.hpp"

namespace evenbevel::bench {
namespace {

constexpr const char* kToken = "0123456789abcdef0123456789abcdef";

BenchSettings settings_in(const fuzz::Fenced& folder) {
  BenchSettings settings;
  settings.folder = folder / "bench";
  settings.record_file = folder / "record.sqlite";
  return settings;
}

/// A bench with the page open on it.
class Page {
 public:
  Page()
      : settings_(settings_in(folder_)),
        bench_(settings_),
        routes_(bench_, nullptr, settings_, kToken) {
    const RequestHead first{
        .method = "GET", .target = std::string("/?t=") + kToken, .host = "localhost"};
    for (const auto& [name, value] : routes_.handling().answer(first, {}).headers) {
      if (name == "Set-Cookie") cookie_ = value.substr(0, value.find(';'));
    }
    fuzz::require(!cookie_.empty(), "a page that gives no cookie");
  }

  void ask(RequestHead head, const std::string& body, bool own_cookie) {
    if (own_cookie) head.cookie = cookie_;
    const bool stranger =
        !own_cookie && head.target.find(kToken) == std::string::npos && head.cookie != cookie_;
    const Admission admission = routes_.handling().admit(head);
    if (admission.refusal) return require_well_formed(*admission.refusal);
    fuzz::require(!stranger, "an answer for a stranger");
    if (body.size() > admission.most_bytes) return;
    RequestBody given{.text = body};
    if (!admission.into_file.empty()) {
      test::write_file(admission.into_file, body);
      given = {.file = admission.into_file};
    }
    require_well_formed(routes_.handling().answer(head, given));
    folder_.require_nothing_outside();
  }

 private:
  static void require_well_formed(const Answer& answer) {
    fuzz::require(answer.status >= 200 && answer.status < 500, "a status that is none");
    fuzz::require(answer.type != "application/json" || nlohmann::json::accept(answer.body),
                  "JSON that is none");
    for (const auto& [name, value] : answer.headers) {
      fuzz::require((name + value).find_first_of("\r\n") == std::string::npos,
                    "a header of several lines");
    }
  }

  fuzz::Fenced folder_;
  BenchSettings settings_;
  OnBench bench_;
  Routes routes_;
  std::string cookie_;
};

}  // namespace
}  // namespace evenbevel::bench

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace evenbevel;
  constexpr int kRequestsToABench = 500;  // so that its photos do not pile up
  // What hashes photos is set up first, so that it outlives the page and the photo it may be at.
  static const std::string hashed = sha256("");
  static std::unique_ptr<bench::Page> page;
  static int requests = 0;
  if (requests++ % kRequestsToABench == 0) page = std::make_unique<bench::Page>();
  std::string text = fuzz::text_of(data, size);
  bench::RequestHead head;
  head.method = fuzz::take_line(text);
  head.target = fuzz::take_line(text);
  head.host = fuzz::take_line(text);
  head.cookie = fuzz::take_line(text);
  const std::string marks = fuzz::take_line(text);
  head.by_page = marks.find('p') != std::string::npos;
  page->ask(head, text, marks.find('c') != std::string::npos);
  return 0;
}
