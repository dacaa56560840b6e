#include <array>
#include <cerrno>
#include <cstring>
#include <fstream>

#include <unistd.h>

#include "evenbevel/error.hpp"
#include "evenbevel/plan.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;

struct PlanFile {
  fs::path path;
  std::string bytes;

  fs::path temporary() const {
    return path.parent_path() /
           ("." + path.filename().string() + "." + std::to_string(::getpid()) + ".new");
  }
};

Error cannot_write(const fs::path& path, const std::string& why) {
  return {"the plan cannot be written to " + path.string() + ": " + why,
          "choose another folder with -o, or free some space"};
}

void make_folder(const fs::path& folder) {
  std::error_code fault;
  fs::create_directories(folder, fault);
  if (fault) throw cannot_write(folder, fault.message());
  if (!fs::is_directory(folder)) throw cannot_write(folder, "it is not a folder");
}

void write_temporary(const PlanFile& plan_file) {
  if (fs::is_directory(plan_file.path)) {
    throw cannot_write(plan_file.path, "a folder has that name");
  }
  errno = 0;
  std::ofstream file(plan_file.temporary(), std::ios::binary | std::ios::trunc);
  file.write(plan_file.bytes.data(), static_cast<std::streamsize>(plan_file.bytes.size()));
  file.close();
  if (!file) {
    throw cannot_write(plan_file.path, errno != 0 ? std::strerror(errno) : "writing failed");
  }
}

void keep(const PlanFile& plan_file) {
  std::error_code fault;
  fs::rename(plan_file.temporary(), plan_file.path, fault);
  if (fault) throw cannot_write(plan_file.path, fault.message());
}

}  // namespace

void write_plan(const Plan& plan, LengthUnit unit, Sheet sheet, const std::string& command_line,
                const std::filesystem::path& folder) {
  const std::array<PlanFile, 2> files{PlanFile{folder / "plan.json", plan_json(plan, command_line)},
                                      PlanFile{folder / "plan.pdf", plan_card(plan, unit, sheet)}};
  make_folder(folder);
  try {
    for (const PlanFile& file : files) write_temporary(file);
    for (const PlanFile& file : files) keep(file);
  } catch (...) {
    std::error_code ignored;
    for (const PlanFile& file : files) fs::remove(file.temporary(), ignored);
    throw;
  }
}

}  // namespace evenbevel
