#include "bench/phone_words.hpp"

#include <algorithm>
#include <string_view>
#include <utility>

namespace evenbevel::bench {
namespace {

bool has_option(std::string_view text) { return text.find("--") != std::string_view::npos; }

/// "calipers (--printed-bar) and that" -> "calipers and that".
std::string without_brackets(std::string text) {
  for (std::size_t at = text.find(" (--"); at != std::string::npos; at = text.find(" (--", at)) {
    const std::size_t close = text.find(')', at);
    if (close == std::string::npos) break;
    text.erase(at, close + 1 - at);
  }
  return text;
}

std::string replaced(std::string text, const std::string& what, const std::string& by) {
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at)) {
    text.replace(at, what.size(), by);
    at += by.size();
  }
  return text;
}

InUnits replaced(const InUnits& words, const std::string& what, const std::string& by) {
  InUnits clean(replaced(words.mm, what, by), replaced(words.in, what, by));
  clean.thou = replaced(words.thou, what, by);
  return clean;
}

/// "check --thickness and --shows, light" -> "check the thickness and what the photo shows, light"
std::string with_names(std::string text) {
  text = replaced(std::move(text), "--thickness", "the thickness");
  text = replaced(std::move(text), "--shows", "what the photo shows");
  return replaced(std::move(text), "--tip", "where the tip points");
}

/// Empty: no question of the page is in it.
std::string said_below(const std::string& what_to_do) {
  if (what_to_do.find("--tip") != std::string::npos)
    return "say below where the tip points: hold the card upright, its text readable";
  if (what_to_do.find("--shows") != std::string::npos) return "say below what the photo shows";
  return "";
}

}  // namespace

std::string_view name(Question question) { return question == Question::tip ? "tip" : "shows"; }

std::vector<Question> questions_of(const Error& error) {
  std::vector<Question> all;
  for (const Question question : {Question::tip, Question::shows}) {
    if (error.do_next().find("--" + std::string(name(question))) != std::string::npos)
      all.push_back(question);
  }
  return all;
}

std::string without_options(const std::string& what_to_do) {
  constexpr std::string_view kBetween = "; ";
  std::string kept;
  for (std::size_t from = 0; from <= what_to_do.size();) {
    const std::size_t end = std::min(what_to_do.find(kBetween, from), what_to_do.size());
    std::string clause = what_to_do.substr(from, end - from);
    from = end + kBetween.size();
    const bool alternative = clause.starts_with("or ") && has_option(clause);
    clause = without_brackets(std::move(clause));
    if (clause.starts_with("check --")) clause = with_names(std::move(clause));
    if (alternative || has_option(clause)) continue;
    kept += (kept.empty() ? "" : "; ") + clause;
  }
  if (kept.empty()) kept = said_below(what_to_do);
  if (kept.empty()) return "on the computer: " + what_to_do;
  return replaced(kept, "the command that goes with", "choose here what goes with");
}

Error without_options(const Error& error) {
  const InUnits& said = error.what_to_do();
  InUnits clean(without_options(said.mm), without_options(said.in));
  if (!said.thou.empty()) clean.thou = without_options(said.thou);
  return {error.what_is_wrong(), clean};
}

Error replaced(const Error& error, const std::string& what, const std::string& by) {
  return {replaced(error.what_is_wrong(), what, by), replaced(error.what_to_do(), what, by)};
}

}  // namespace evenbevel::bench
