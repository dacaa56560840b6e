#include "exif_maker.hpp"

#include <cstdint>
#include <vector>

namespace evenbevel::test {
namespace {

struct Entry {
  std::size_t tag, type, count;
  std::string value;
};

Entry text(std::size_t tag, const std::string& words) {
  return {tag, 2, words.size() + 1, words + '\0'};
}
Entry small(std::size_t tag, int value) {
  return {tag, 3, 1, big_endian_bytes(static_cast<std::size_t>(value), 2)};
}
Entry ratio(std::size_t tag, const std::pair<unsigned, unsigned>& value) {
  return {tag, 5, 1, big_endian_bytes(value.first, 4) + big_endian_bytes(value.second, 4)};
}
Entry pointer(std::size_t tag, std::size_t value) {
  return {tag, 4, 1, big_endian_bytes(value, 4)};
}

std::size_t room(const std::vector<Entry>& entries) {
  std::size_t bytes = 2 + 12 * entries.size() + 4;
  for (const Entry& entry : entries) bytes += entry.value.size() > 4 ? entry.value.size() : 0;
  return bytes;
}

/// Entries in the order of their tags; long values behind the directory.
std::string directory(const std::vector<Entry>& entries, std::size_t start) {
  std::string head = big_endian_bytes(entries.size(), 2), tail;
  const std::size_t tail_start = start + 2 + 12 * entries.size() + 4;
  for (const Entry& entry : entries) {
    head += big_endian_bytes(entry.tag, 2) + big_endian_bytes(entry.type, 2) +
            big_endian_bytes(entry.count, 4);
    if (entry.value.size() > 4) {
      head += big_endian_bytes(tail_start + tail.size(), 4);
      tail += entry.value;
    } else {
      head += entry.value + std::string(4 - entry.value.size(), '\0');
    }
  }
  return head + big_endian_bytes(0, 4) + tail;
}

/// The checksum of PNG chunks (PNG specification, annex D).
std::uint32_t checksum(const std::string& data) {
  std::uint32_t sum = 0xFFFFFFFFu;
  for (const char c : data) {
    sum ^= static_cast<unsigned char>(c);
    for (int bit = 0; bit < 8; ++bit) sum = (sum >> 1) ^ ((sum & 1u) != 0 ? 0xEDB88320u : 0u);
  }
  return ~sum;
}

}  // namespace

std::string big_endian_bytes(std::size_t value, int bytes) {
  std::string out;
  for (int i = bytes - 1; i >= 0; --i) out += static_cast<char>(value >> (8 * i) & 255);
  return out;
}

std::string exif_block(const ExifContent& content) {
  std::vector<Entry> inner;
  if (content.focal_length) inner.push_back(ratio(0x920A, *content.focal_length));
  if (content.digital_zoom) inner.push_back(ratio(0xA404, *content.digital_zoom));
  if (content.focal_length_35mm) inner.push_back(small(0xA405, *content.focal_length_35mm));
  if (!content.lens.empty()) inner.push_back(text(0xA434, content.lens));

  std::vector<Entry> outer;
  if (!content.make.empty()) outer.push_back(text(0x010F, content.make));
  if (!content.model.empty()) outer.push_back(text(0x0110, content.model));
  if (content.orientation) outer.push_back(small(0x0112, *content.orientation));
  outer.push_back(pointer(0x8769, 0));
  const std::size_t inner_start = 8 + room(outer);
  outer.back() = pointer(0x8769, inner_start);
  return std::string("MM\0*\0\0\0\x08", 8) + directory(outer, 8) + directory(inner, inner_start);
}

std::string jpeg_with_exif(const std::string& jpeg, const std::string& block) {
  const std::string payload = std::string("Exif\0\0", 6) + block;
  return jpeg.substr(0, 2) + "\xFF\xE1" + big_endian_bytes(payload.size() + 2, 2) + payload +
         jpeg.substr(2);
}

std::string png_with_exif(const std::string& png, const std::string& block) {
  constexpr std::size_t kAfterHeader = 8 + 12 + 13;
  const std::string named = "eXIf" + block;
  return png.substr(0, kAfterHeader) + big_endian_bytes(block.size(), 4) + named +
         big_endian_bytes(checksum(named), 4) + png.substr(kAfterHeader);
}

}  // namespace evenbevel::test
