#include "report/page.hpp"

#include <algorithm>
#include <map>

#include "evenbevel/advice.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/record_compare.hpp"
#include "evenbevel/record_page.hpp"
#include "record/files.hpp"
#include "record/numbers.hpp"
#include "record/report_facts.hpp"
#include "record/stage_charts.hpp"
#include "record/stages.hpp"
#include "record/table.hpp"
#include "record/wipe.hpp"
#include "units/own_file.hpp"

namespace evenbevel {
namespace {

InUnits printed_part(const RecordedValue& value, const std::string Printed::*part) {
  return in_units([&](LengthUnit unit) { return printed_value(value, unit).*part; });
}

Verdict verdict_of(const std::string& word) {
  for (const Verdict verdict : {Verdict::within, Verdict::outside, Verdict::unresolved}) {
    if (name(verdict) == word) return verdict;
  }
  return Verdict::none;
}

/// The newest entry of each stage in one view, oldest stage first.
std::vector<const RecordEntry*> newest_of_each_stage(const Knife& knife, const std::string& view) {
  std::vector<const RecordEntry*> entries;
  for (const std::string& stage : knife.stages()) {
    const RecordEntry* newest = newest_entry(knife, stage, view);
    if (newest != nullptr) entries.push_back(newest);
  }
  return entries;
}

std::string pictures(Record& record, const Knife& knife) {
  std::string html;
  for (const std::string& view : views_of(knife)) {
    std::map<std::string, std::vector<Shot>> by_face;
    for (const RecordEntry* entry : newest_of_each_stage(knife, view)) {
      for (std::size_t i = 0; i < entry->photos.size(); ++i) {
        const std::optional<Preview> picture = preview(record, *entry, i);
        if (!picture) continue;
        const std::string face = entry->photos[i].face;
        by_face[face].push_back({entry->stage,
                                 knife.name + ", " + view + " view" +
                                     (face.empty() ? "" : ", " + face + " face") +
                                     " at the stage " + entry->stage,
                                 *picture});
      }
    }
    for (const auto& [face, shots] : by_face) {
      html += wipe_html(view + " view" + (face.empty() ? "" : ", " + face + " face"), shots);
    }
  }
  return html;
}

std::string steel_row(const Steel& steel) {
  const RecordedValue value{"steel_difference", 0.0, steel.value_mm, steel.u_mm, steel.U95_mm};
  const InUnits label = in_units([&](LengthUnit unit) { return steel_label(steel, unit); });
  return "<tr><th scope=\"row\">" + escaped(label) + "</th><td class=\"value\">" +
         escaped(printed_part(value, &Printed::value)) + "</td><td class=\"u\">U95 " +
         escaped(printed_part(value, &Printed::U95)) + (steel.resolved ? "" : ", not resolved") +
         "</td></tr>\n";
}

/// From each stage to the next one that was seen in the same view.
std::string taken_off(Record& record, const Knife& knife) {
  std::string html;
  for (const std::string& view : views_of(knife)) {
    const std::vector<const RecordEntry*> entries = newest_of_each_stage(knife, view);
    for (std::size_t i = 0; i + 1 < entries.size(); ++i) {
      const std::vector<Steel> all =
          steel_between(record.statement(*entries[i]), record.statement(*entries[i + 1]));
      std::string rows;
      for (const Steel& steel : all) rows += steel_row(steel);
      if (rows.empty()) continue;
      html += "<h3>" + escaped(entries[i]->stage + " to " + entries[i + 1]->stage) + ", " +
              escaped(view) + " view</h3>\n<table class=\"summary\">\n" + rows + "</table>\n" +
              list(steel_remarks(all));
    }
  }
  return html;
}

std::string entry_html(const Knife& knife, const RecordEntry& entry) {
  std::string rows;
  bool places = false;
  for (const RecordedValue& value : in_report_order(entry.values)) {
    const InUnits label = in_units([&](LengthUnit unit) { return label_of(value, unit); });
    rows += "<tr><th scope=\"row\">" + escaped(label) + "</th><td>" +
            escaped(printed_part(value, &Printed::value)) + "</td><td>U95 " +
            escaped(printed_part(value, &Printed::U95)) + "</td></tr>\n";
    places = places || is_place_name(value.name);
  }
  std::string notes;
  for (const RecordNote& note : knife.notes) {
    if (note.entry == entry.id) notes += "<p class=\"note\">" + escaped(note.text) + "</p>\n";
  }
  std::string photos;
  for (const RecordedPhoto& photo : entry.photos) photos += " " + escaped(photo.name);
  const std::string verdict = entry.verdict == "none" ? "" : ", " + entry.verdict;
  return folded(entry.stage + ", " + entry.view + " view, " + day(entry.added) + verdict,
                notes + "<table>\n" + rows + "</table>\n<p class=\"quiet\">Entry " +
                    std::to_string(entry.id) + ", photo" + photos +
                    (places ? "; " + origin_words(entry) : "") + "</p>\n");
}

std::string notes_html(const Knife& knife) {
  std::string html;
  for (const RecordNote& note : knife.notes) {
    const auto entry = std::ranges::find(knife.entries, note.entry, &RecordEntry::id);
    const std::string of = entry == knife.entries.end() ? "" : ", " + entry->stage;
    html += "<p class=\"note\"><span class=\"quiet\">" + escaped(day(note.written) + of) +
            "</span><br>" + escaped(note.text) + "</p>\n";
  }
  return html;
}

std::string facts_html(const Knife& knife) {
  std::vector<InUnits> all;
  for (const auto& fact : knife.facts) {
    all.push_back(in_units([&](LengthUnit unit) {
      std::string line = facts_text({fact}, unit);
      line.pop_back();  // its line end
      return line;
    }));
  }
  return list(all);
}

PageHead head_of(const Knife& knife, LengthUnit unit) {
  PageHead head;
  head.headline = {knife.name, knife.name};
  head.unit = unit;
  if (knife.entries.empty()) {
    head.what = "no entries yet";
    return head;
  }
  const RecordEntry& newest = knife.entries.back();
  const std::size_t entries = knife.entries.size();
  const std::size_t stages = knife.stages().size();
  head.verdict = verdict_of(newest.verdict);
  head.what = std::to_string(entries) + (entries == 1 ? " entry" : " entries") + " at " +
              std::to_string(stages) + (stages == 1 ? " stage" : " stages") + ", " +
              day(knife.entries.front().added) + " to " + day(newest.added) +
              "; newest: " + newest.stage + (newest.verdict == "none" ? "" : ", " + newest.verdict);
  return head;
}

}  // namespace

std::string knife_html(Record& record, const std::string& name, LengthUnit unit) {
  const Knife knife = record.knife(name);
  std::string entries;
  for (const RecordEntry& entry : knife.entries) entries += entry_html(knife, entry);
  std::string main = section("Through the stages", pictures(record, knife));
  main += section("From stage to stage", stage_charts_html(knife));
  main += section("What was taken off", taken_off(record, knife));
  main += section("The knife's own", facts_html(knife));
  main += section("Notes", notes_html(knife));
  main += section("Every entry", entries);
  main += section(
      "How to read it",
      list(std::vector<std::string>{
          "Left and right are the knife's: edge down, tip pointing away from you.",
          std::string(kWhereXIsZero) + ".",
          "U95: the true value lies within this much of the printed one, 95 times in 100.",
          "What was taken off is the difference of two measurements, and its interval holds both "
          "of "
          "theirs. Not resolved: smaller than its interval, so it may be nothing.",
          "Taken off the edge: how much nearer to the middle of the flats the land's border came "
          "on that face. Before the edge is ground, that is half the stock.",
          "Bevel line gone up: how much nearer to the spine it came on that face.",
          "Taken off behind the edge: how much thinner the section became at that depth, which "
          "counts from the edge as it was each time; of one face from the middle of the flats."}));
  main += section("Cautions", list(cautions()));
  return page_html(head_of(knife, unit), main, {.style = wipe_style(), .script = wipe_script()});
}

void make_previews(Record& record, const std::string& name) {
  const Knife knife = record.knife(name);
  for (const RecordEntry& entry : knife.entries) {
    for (std::size_t i = 0; i < entry.photos.size(); ++i) preview(record, entry, i);
  }
}

Added add_with_pictures(const std::filesystem::path& record_file, NewEntry entry) {
  entry.added = utc_now();
  Record record = Record::open_or_make(record_file);
  Added added = record.add(entry);
  if (!added.was_there) make_previews(record, added.knife);
  return added;
}

void write_page(const std::filesystem::path& file, const std::string& html) {
  require_own_file(file, html);
  write_replacing(file, html);
}

}  // namespace evenbevel
