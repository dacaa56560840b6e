#include "fuzz.hpp"

#include <algorithm>
#include <cctype>
#include <set>

namespace evenbevel::fuzz {
namespace {

namespace fs = std::filesystem;

const std::set<std::string, std::less<>> kElements = {
    "!doctype", "b",        "body",     "br",         "caption", "circle", "code",  "details",
    "div",      "em",       "fieldset", "figcaption", "figure",  "g",      "h1",    "h2",
    "h3",       "head",     "header",   "html",       "img",     "input",  "label", "legend",
    "li",       "line",     "main",     "meta",       "ol",      "output", "p",     "path",
    "polygon",  "polyline", "rect",     "script",     "section", "small",  "span",  "strong",
    "style",    "summary",  "svg",      "table",      "tbody",   "td",     "text",  "tfoot",
    "th",       "thead",    "time",     "title",      "tr",      "ul"};

std::string lower(std::string text) {
  std::ranges::transform(text, text.begin(), [](unsigned char c) { return std::tolower(c); });
  return text;
}

bool blank(char c) { return std::isspace(static_cast<unsigned char>(c)) != 0; }

/// Goes through a page tag by tag, as a browser would.
class PageReader {
 public:
  explicit PageReader(const std::string& html) : html_(html) {}

  /// @return  How many scripts.
  int read() {
    while ((at_ = html_.find('<', at_)) != std::string::npos) tag();
    return scripts_;
  }

 private:
  void tag() {
    ++at_;
    const bool end = at_ < html_.size() && html_[at_] == '/';
    if (end) ++at_;
    const std::string name = lower(word("/> \t\r\n\f"));
    require(kElements.contains(name), "an element <" + name.substr(0, 40) + "> in a page");
    while (at_ < html_.size() && html_[at_] != '>') attribute();
    require(at_ < html_.size(), "a tag <" + name + "> without an end");
    if (end) return;
    if (name == "script") ++scripts_;
    if (name == "script" || name == "style") skip_to("</" + name + ">");
  }

  void attribute() {
    while (at_ < html_.size() && (blank(html_[at_]) || html_[at_] == '/')) ++at_;
    if (at_ >= html_.size() || html_[at_] == '>') return;
    const std::string name = lower(word("=> \t\r\n\f"));
    const bool plain = std::ranges::all_of(name, [](char c) {
      return c == '-' || c == ':' || std::isalnum(static_cast<unsigned char>(c)) != 0;
    });
    require(plain && !name.empty() && !name.starts_with("on"),
            "an attribute " + name.substr(0, 40) + " in a page");
    if (at_ >= html_.size() || html_[at_] != '=') return;
    ++at_;
    const std::string value = attribute_value();
    if (name == "src" || name == "href" || name == "action" || name == "srcset") {
      require(value.starts_with("data:") || value.starts_with('#'),
              "a page that fetches " + value.substr(0, 40));
    }
  }

  std::string attribute_value() {
    const char quote = at_ < html_.size() ? html_[at_] : ' ';
    if (quote != '"' && quote != '\'') return word("> \t\r\n\f");
    ++at_;
    std::string value = word(std::string(1, quote));
    require(at_ < html_.size(), "an attribute's value without an end");
    ++at_;
    return value;
  }

  std::string word(const std::string& ends) {
    const std::size_t end = std::min(html_.find_first_of(ends, at_), html_.size());
    std::string found = html_.substr(at_, end - at_);
    at_ = end;
    return found;
  }

  void skip_to(const std::string& end) {
    at_ = html_.find(end, at_);
    require(at_ != std::string::npos, "a script or style without an end");
  }

  const std::string& html_;
  std::size_t at_ = 0;
  int scripts_ = 0;
};

std::set<std::string> names_in(const fs::path& folder) {
  std::set<std::string> names;
  for (const fs::directory_entry& one : fs::directory_iterator(folder)) {
    names.insert(one.path().filename().string());
  }
  return names;
}

}  // namespace

std::string take_line(std::string& text) {
  const std::size_t end = text.find('\n');
  std::string line = text.substr(0, end);
  text = end == std::string::npos ? "" : text.substr(end + 1);
  return line;
}

fs::path fast_folder() {
  std::error_code none;
  return fs::is_directory("/dev/shm", none) ? fs::path("/dev/shm") : fs::temp_directory_path();
}

Fenced::Fenced() { fs::create_directories(folder_ / "around" / "inside"); }

void Fenced::require_nothing_outside() const {
  require(names_in(folder_.path()) == std::set<std::string>{"around"} &&
              names_in(folder_ / "around") == std::set<std::string>{"inside"},
          "a file outside of the folder that was named");
}

void require_plain_page(const std::string& html, int scripts) {
  const int found = PageReader(html).read();
  require(found <= scripts, std::to_string(found) + " scripts in a page");
}

}  // namespace evenbevel::fuzz
