// What the fuzz targets have found before, and a sound input for each, once more: by any compiler.

#include <algorithm>
#include <filesystem>
#include <ostream>
#include <vector>

#include <gtest/gtest.h>

#include "fuzz.hpp"
#include "targets.hpp"

namespace evenbevel {

namespace fuzz {
static void PrintTo(const Target& target, std::ostream* to) { *to << target.name; }
}  // namespace fuzz

namespace {

namespace fs = std::filesystem;

class FuzzBadInput : public testing::TestWithParam<fuzz::Target> {};

TEST_P(FuzzBadInput, CorpusIsTakenOrRefused) {
  const fs::path corpus = fs::path(CORPUS_FOLDER) / GetParam().name;
  std::vector<fs::path> inputs;
  for (const fs::directory_entry& one : fs::directory_iterator(corpus))
    inputs.push_back(one.path());
  std::ranges::sort(inputs);
  ASSERT_FALSE(inputs.empty()) << corpus;
  for (const fs::path& input : inputs) {
    SCOPED_TRACE(input.filename().string());
    const std::string bytes = test::file_text(input);
    const auto* data = reinterpret_cast<const std::uint8_t*>(bytes.data());
    EXPECT_NO_THROW(GetParam().run(data, bytes.size()));
  }
}

INSTANTIATE_TEST_SUITE_P(Targets, FuzzBadInput, testing::ValuesIn(fuzz::kTargets),
                         [](const auto& target) { return std::string(target.param.name); });

// The check itself sees what it is there for.
TEST(FuzzClosedForm, APageWithSomethingOfOthersInItIsSeen) {
  EXPECT_NO_THROW(fuzz::require_plain_page("<p class=\"a>b\">&lt;img onerror=1&gt;</p>", 0));
  EXPECT_NO_THROW(fuzz::require_plain_page("<script>a < b;</script><br/>", 1));
  for (const char* page :
       {"<script>1</script>", "<p onclick=\"x\">", "<img src=\"http://x\">", "<iframe>", "<p",
        "a < b", "<p title=\"a\" \"b\">", "<p title=\"a>", "<style>p {}"}) {
    EXPECT_THROW(fuzz::require_plain_page(page, 0), std::logic_error) << page;
  }
}

TEST(FuzzClosedForm, AFileBesideTheFolderIsSeen) {
  const fuzz::Fenced folder;
  EXPECT_NO_THROW(folder.require_nothing_outside());
  test::write_file(folder / "../beside", "x");
  EXPECT_THROW(folder.require_nothing_outside(), std::logic_error);
}

}  // namespace
}  // namespace evenbevel
