#include "bench/job.hpp"

#include <algorithm>

namespace evenbevel::bench {
namespace {

const char* word(JobState state) {
  switch (state) {
    case JobState::waiting:
      return "waiting";
    case JobState::measuring:
      return "measuring";
    case JobState::measured:
      return "measured";
    case JobState::refused:
      break;
  }
  return "refused";
}

const char* word(Keeping keeping) {
  switch (keeping) {
    case Keeping::no:
      return "";
    case Keeping::waiting:
      return "waiting";
    case Keeping::kept:
      return "kept";
    case Keeping::not_kept:
      break;
  }
  return "not kept";
}

nlohmann::json json_of(const std::vector<Question>& questions) {
  nlohmann::json all = nlohmann::json::array();
  for (const Question question : questions) all.push_back(name(question));
  return all;
}

}  // namespace

bool Job::asks_for(const PhotoAnswers& given) const {
  const auto asks = [&](Question question) { return std::ranges::count(questions, question) > 0; };
  return !questions.empty() && (!given.tip || asks(Question::tip)) &&
         (!given.shows || asks(Question::shows));
}

bool Job::has_report() const {
  return state == JobState::measured && kind_of(set_up.view).measure != nullptr;
}

bool Job::can_be_kept() const { return has_report() && kind_of(set_up.view).of_a_knife; }

nlohmann::json json_of(const Job& job, int id, std::size_t before, int lot) {
  const BenchKind& kind = kind_of(job.set_up.view);
  return {{"id", id},
          {"view", kind.name},
          {"state", word(job.state)},
          {"before", before},
          {"step", job.step},
          {"steps", kind.steps()},
          {"said", job.said},
          {"questions", json_of(job.questions)},
          {"has_picture", !job.picture.empty()},
          {"has_report", job.has_report()},
          {"can_keep", job.can_be_kept()},
          {"dropped", job.lot < lot && !job.has_report()},
          {"keeping", word(job.keeping)},
          {"kept", job.kept}};
}

}  // namespace evenbevel::bench
