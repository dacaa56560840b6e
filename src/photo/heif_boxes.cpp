#include "heif_boxes.hpp"

#include <optional>
#include <string_view>
#include <vector>

#include "byte_order.hpp"

namespace evenbevel {
namespace {

using Bytes = std::span<const uchar>;

struct Box {
  Bytes whole;
  Bytes payload;
  bool is(std::string_view name) const { return stands_at(whole, 4, name); }
};

/// The box at the start of `data`; empty when there is none or when it reaches beyond the end.
std::optional<Box> first_box(Bytes data) {
  if (data.size() < 8) return std::nullopt;
  std::uint64_t size = big_endian(data, 0, 4);
  std::size_t header = 8;
  if (size == 1) {
    if (data.size() < 16) return std::nullopt;
    size = big_endian(data, 8, 8);
    header = 16;
  }
  if (size == 0) size = data.size();
  if (size < header || size > data.size()) return std::nullopt;
  return Box{data.first(size), data.subspan(header, size - header)};
}

std::vector<Box> boxes(Bytes data) {
  std::vector<Box> all;
  while (const std::optional<Box> box = first_box(data)) {
    all.push_back(*box);
    data = data.subspan(box->whole.size());
  }
  return all;
}

/// Payload of the named box; empty if there is none.
Bytes inside(Bytes data, std::string_view name) {
  for (const Box& box : boxes(data)) {
    if (box.is(name)) return box.payload;
  }
  return {};
}

/// Steps through big-endian fields; zeros after the end.
class Fields {
 public:
  explicit Fields(Bytes data) : data_(data) {}

  std::uint64_t next(std::size_t count) {
    if (data_.size() - at_ < count) {
      at_ = data_.size();
      return 0;
    }
    at_ += count;
    return big_endian(data_, at_ - count, count);
  }
  bool done() const { return at_ == data_.size(); }

 private:
  Bytes data_;
  std::size_t at_ = 0;
};

std::uint64_t primary_item(Bytes meta) {
  Fields fields(inside(meta, "pitm"));
  const std::uint64_t version = fields.next(4) >> 24;
  return fields.next(version == 0 ? 2 : 4);
}

/// Property numbers, from 1, of one item (23008-12, 9.3: the ipma box).
std::vector<std::size_t> properties_of(std::uint64_t item, Bytes ipma) {
  Fields fields(ipma);
  const std::uint64_t version_and_flags = fields.next(4);
  const std::size_t id_bytes = version_and_flags >> 24 == 0 ? 2 : 4;
  const bool wide = (version_and_flags & 1) != 0;
  std::vector<std::size_t> found;
  for (std::uint64_t left = fields.next(4); left > 0 && !fields.done(); --left) {
    const std::uint64_t id = fields.next(id_bytes);
    for (std::uint64_t links = fields.next(1); links > 0; --links) {
      const std::uint64_t number = wide ? fields.next(2) & 0x7FFF : fields.next(1) & 0x7F;
      if (id == item) found.push_back(number);
    }
  }
  return found;
}

}  // namespace

HeifTransforms heif_transforms(Bytes file) {
  HeifTransforms transforms;
  Bytes meta = inside(file, "meta");
  if (meta.size() < 4) return transforms;
  meta = meta.subspan(4);  // version and flags
  const Bytes properties = inside(meta, "iprp");
  const std::vector<Box> all = boxes(inside(properties, "ipco"));
  for (const std::size_t number : properties_of(primary_item(meta), inside(properties, "ipma"))) {
    if (number < 1 || number > all.size()) continue;
    const Box& box = all[number - 1];
    if (box.is("irot") && !box.payload.empty()) {
      transforms.quarter_turns = (transforms.quarter_turns + (box.payload[0] & 3)) % 4;
      transforms.any = true;
    }
    if (box.is("imir") || box.is("clap")) transforms.mirror_or_crop = transforms.any = true;
  }
  return transforms;
}

bool heif_complete(Bytes file) {
  while (!file.empty()) {
    const std::optional<Box> box = first_box(file);
    if (!box) return false;
    file = file.subspan(box->whole.size());
  }
  return true;
}

}  // namespace evenbevel
