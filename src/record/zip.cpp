#include "record/zip.hpp"

#include <algorithm>
#include <array>

#include <minizip/unzip.h>
#include <minizip/zip.h>

#include "evenbevel/error.hpp"

namespace evenbevel {
namespace {

constexpr std::size_t kPiece = std::size_t{1} << 24U;
constexpr int kUtf8Names = 1 << 11;

}  // namespace

ZipWriter::ZipWriter(const std::filesystem::path& file)
    : file_(file), zip_(zipOpen64(file.c_str(), APPEND_STATUS_CREATE)) {
  if (zip_ == nullptr) {
    throw Error(file.string() + " cannot be written", "check the folder and your rights there");
  }
}

ZipWriter::~ZipWriter() {
  if (zip_ != nullptr) zipClose(zip_, nullptr);
}

void ZipWriter::add(const std::string& name, std::string_view bytes, bool pack) {
  const Error cannot(file_.string() + " cannot be written to its end",
                     "free some space, then do it again");
  const zip_fileinfo info{{0, 0, 0, 1, 0, 1980}, 0, 0, 0};
  constexpr int kLevel = 6, kZip64 = 1, kMadeBy = 0;
  if (zipOpenNewFileInZip4_64(zip_, name.c_str(), &info, nullptr, 0, nullptr, 0, nullptr,
                              pack ? Z_DEFLATED : 0, kLevel, 0, -MAX_WBITS, DEF_MEM_LEVEL,
                              Z_DEFAULT_STRATEGY, nullptr, 0, kMadeBy, kUtf8Names,
                              kZip64) != ZIP_OK) {
    throw cannot;
  }
  for (std::size_t at = 0; at < bytes.size(); at += kPiece) {
    const std::string_view piece = bytes.substr(at, kPiece);
    if (zipWriteInFileInZip(zip_, piece.data(), static_cast<unsigned>(piece.size())) != ZIP_OK) {
      throw cannot;
    }
  }
  if (zipCloseFileInZip(zip_) != ZIP_OK) throw cannot;
}

void ZipWriter::finish() {
  void* zip = zip_;
  zip_ = nullptr;
  if (zipClose(zip, nullptr) != ZIP_OK) {
    throw Error(file_.string() + " cannot be written to its end",
                "free some space, then do it again");
  }
}

ZipReader::ZipReader(const std::filesystem::path& file) : zip_(unzOpen64(file.c_str())) {
  if (zip_ == nullptr) {
    throw Error(file.string() + " is not a zip archive, or is cut off",
                "give what 'evenbevel record export -o NAME.zip' wrote");
  }
  for (int code = unzGoToFirstFile(zip_); code == UNZ_OK; code = unzGoToNextFile(zip_)) {
    std::array<char, 512> name{};
    unz_file_info64 info{};
    unz64_file_pos at{};
    if (unzGetCurrentFileInfo64(zip_, &info, name.data(), name.size() - 1, nullptr, 0, nullptr,
                                0) != UNZ_OK ||
        unzGetFilePos64(zip_, &at) != UNZ_OK) {
      continue;
    }
    if (places_.try_emplace(name.data(), Place{at.pos_in_zip_directory, at.num_of_file}).second) {
      names_.emplace_back(name.data());
    }
  }
}

ZipReader::~ZipReader() { unzClose(zip_); }

std::vector<std::string> ZipReader::names() const { return names_; }

std::optional<std::string> ZipReader::read(const std::string& name, std::size_t most_bytes) const {
  const auto place = places_.find(name);
  if (place == places_.end()) return std::nullopt;
  const unz64_file_pos at{place->second.in_directory, place->second.number};
  if (unzGoToFilePos64(zip_, &at) != UNZ_OK) return std::nullopt;
  if (unzOpenCurrentFile(zip_) != UNZ_OK) return std::nullopt;
  std::string bytes;
  std::vector<char> piece(std::size_t{1} << 20U);
  int read = 0;
  // What the archive says of its sizes is not relied on.
  while ((read = unzReadCurrentFile(zip_, piece.data(), static_cast<unsigned>(piece.size()))) > 0 &&
         bytes.size() <= most_bytes) {
    bytes.append(piece.data(), static_cast<std::size_t>(read));
  }
  const bool sound = unzCloseCurrentFile(zip_) == UNZ_OK;  // its checksum is looked at here
  if (read != 0 || !sound || bytes.size() > most_bytes) return std::nullopt;
  return bytes;
}

}  // namespace evenbevel
