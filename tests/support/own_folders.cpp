// Compiled into every test program: no test, nor a program that it runs, reads or writes the
// developer's own settings, camera files or record.

#include <cstdlib>

#include <gtest/gtest.h>

#include "scratch_folder.hpp"

namespace evenbevel::test {
namespace {

class OwnFolders : public testing::Environment {
 public:
  void SetUp() override {
    ::setenv("XDG_CONFIG_HOME", (folder_ / "config").c_str(), 1);
    ::setenv("XDG_DATA_HOME", (folder_ / "data").c_str(), 1);
  }

 private:
  ScratchFolder folder_;
};

const testing::Environment* const own_folders = testing::AddGlobalTestEnvironment(new OwnFolders);

}  // namespace
}  // namespace evenbevel::test
