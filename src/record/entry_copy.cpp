#include <algorithm>

#include <nlohmann/json.hpp>

#include "evenbevel/error.hpp"
#include "record/inside.hpp"
#include "units/sha256.hpp"

namespace evenbevel {
namespace {

using Json = nlohmann::ordered_json;

constexpr const char* kSchema = "evenbevel.entry/1";

Json photo_json(const RecordedPhoto& photo) {
  return {
      {"sha256", photo.sha256}, {"file", photo.file}, {"name", photo.name}, {"face", photo.face}};
}

RecordedPhoto photo_of(const Json& json) {
  RecordedPhoto photo{json.at("sha256"), json.at("file"), json.at("name"), json.at("face")};
  if (!is_photo_file(photo.file, photo.sha256)) {
    throw Error("a copy of an entry names a photo outside of the record",
                "nothing: it is left out");
  }
  return photo;
}

WholeEntry entry_of(const Json& json) {
  WholeEntry whole;
  RecordEntry& entry = whole.entry;
  entry.knife = json.at("knife");
  entry.stage = json.at("stage");
  entry.added = json.at("added");
  entry.removed = json.value("removed", "");
  entry.report = json.at("report_sha256");
  for (const Json& photo : json.at("photos")) entry.photos.push_back(photo_of(photo));
  for (const Json& note : json.at("notes")) {
    whole.notes.push_back({.text = note.at("text"), .written = note.at("written")});
  }
  whole.report_json = json.at("report").get<std::string>();
  return whole;
}

}  // namespace

bool is_photo_file(const std::string& file, const std::string& hash) {
  const auto hex = [](char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); };
  const auto plain = [](char c) {
    return c == '.' || (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z');
  };
  constexpr std::size_t kHexDigits = 64;
  return hash.size() == kHexDigits && std::ranges::all_of(hash, hex) && file.starts_with(hash) &&
         std::ranges::all_of(file.substr(kHexDigits), plain);
}

std::filesystem::path entry_copy_path(const std::filesystem::path& record_file,
                                      const std::string& report_sha256) {
  return record_photos(record_file) / "entries" / (report_sha256 + ".json");
}

std::string entry_copy_text(const WholeEntry& whole) {
  const RecordEntry& entry = whole.entry;
  Json json = {{"schema", kSchema},
               {"knife", entry.knife},
               {"stage", entry.stage},
               {"added", entry.added},
               {"report_sha256", entry.report}};
  if (!entry.removed.empty()) json["removed"] = entry.removed;
  json["notes"] = Json::array();
  for (const RecordNote& note : whole.notes) {
    json["notes"].push_back({{"text", note.text}, {"written", note.written}});
  }
  json["photos"] = Json::array();
  for (const RecordedPhoto& photo : entry.photos) json["photos"].push_back(photo_json(photo));
  // As text, so that not a byte of it changes and its hash stays true.
  json["report"] = whole.report_json;
  return json.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

WholeEntry read_entry_copy(const std::string& text) {
  const Error damaged("a copy of an entry is damaged", "nothing: it is left out");
  try {
    WholeEntry whole = entry_of(Json::parse(text));
    if (sha256(whole.report_json) != whole.entry.report) throw damaged;
    const ReportFacts facts = report_facts(whole.report_json);
    whole.entry.view = facts.view;
    whole.entry.verdict = facts.verdict;
    whole.entry.values = facts.values;
    whole.entry.knife = checked_name(whole.entry.knife, "knife");
    whole.entry.stage = checked_name(whole.entry.stage, "stage");
    return whole;
  } catch (const Json::exception&) {
    throw damaged;
  }
}

}  // namespace evenbevel
