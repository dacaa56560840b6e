#include "record_entry.hpp"

#include <fstream>
#include <iostream>
#include <iterator>

#include "evenbevel/error.hpp"

namespace evenbevel::cli {

std::string text_of_file(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) throw Error(path.string() + " cannot be read", "check your rights there");
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

void add_to_record(const std::filesystem::path& record_file, NewEntry entry) {
  entry.added = utc_now();
  const Added added = Record::open_or_make(record_file).add(entry);
  for (const std::string& warning : added.warnings) std::cerr << "warning: " << warning << '\n';
  if (added.was_there) {
    std::cout << "already in the record as entry " << added.id << " (" << added.knife << ", "
              << added.stage << "); nothing added\n";
    return;
  }
  std::cout << "record   entry " << added.id << ": " << added.knife << ", " << added.stage
            << (added.new_knife ? " (a new knife)" : "") << '\n';
}

}  // namespace evenbevel::cli
