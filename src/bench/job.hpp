#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include "bench/measure_job.hpp"
#include "bench/phone_words.hpp"
#include "bench/set_up.hpp"

namespace evenbevel::bench {

enum class JobState { waiting, measuring, measured, refused };
enum class Keeping { no, waiting, kept, not_kept };

/// What becomes of one photo.
// NOLINTNEXTLINE(bugprone-exception-escape): a json value moves without throwing
struct Job {
  SetUp set_up = {};
  BenchPhoto photo = {};
  PhotoAnswers answers = {};
  JobState state = JobState::waiting;
  int step = 1;
  bool taken_again = false;
  int lot = 0;                          ///< Photos sent before it was last started over: less.
  bool judged_anew = false;             ///< The photos that were measured before, no new one.
  std::vector<BenchPhoto> photos = {};  ///< That its report is of.
  nlohmann::json said = {};
  std::vector<Question> questions = {};  ///< Of a refused photo: an answer measures it after all.
  std::filesystem::path folder = {};
  std::string picture = {};  ///< In that folder; empty: none.
  Keeping keeping = Keeping::no;
  nlohmann::json kept = {};

  bool done() const { return state == JobState::measured || state == JobState::refused; }
  bool asks_for(const PhotoAnswers& answers) const;  ///< For all that they answer.
  bool has_report() const;
  bool can_be_kept() const;  ///< In a knife's record.
};

/// As the page reads it.
/// @param before  Jobs that are to be done before it.
/// @param lot     The photos' that count now.
nlohmann::json json_of(const Job& job, int id, std::size_t before, int lot);

}  // namespace evenbevel::bench
