#include <algorithm>
#include <string>

#include "evenbevel/record.hpp"
#include "record/inside.hpp"

namespace evenbevel {

using sqlite::Database;

std::string_view name(KnifeFact fact) {
  switch (fact) {
    case KnifeFact::thickness:
      return "thickness";
    case KnifeFact::land:
      return "land";
    case KnifeFact::tolerance:
      return "tolerance";
    case KnifeFact::side_tolerance:
      return "side-tolerance";
    case KnifeFact::choil_tolerance:
      return "choil-tolerance";
  }
  return "";
}

std::optional<KnifeFact> knife_fact_named(std::string_view wanted) {
  const auto* const found =
      std::ranges::find_if(kKnifeFacts, [&](KnifeFact fact) { return name(fact) == wanted; });
  if (found == kKnifeFacts.end()) return std::nullopt;
  return *found;
}

KnifeFacts fact_rows(Database& database, std::int64_t knife) {
  auto query = database.prepare("SELECT name, mm FROM knife_fact WHERE knife = ? ORDER BY id");
  query.with(knife);
  KnifeFacts facts;
  while (query.step()) {
    const std::optional<KnifeFact> fact = knife_fact_named(query.text(0));
    if (!fact) continue;
    if (query.is_null(1)) {
      facts.erase(*fact);
    } else {
      facts[*fact] = query.real(1);
    }
  }
  return facts;
}

void insert_fact(Database& database, std::int64_t knife, const SaidFact& fact,
                 const std::string& said) {
  const std::string of(name(fact.fact));
  if (fact.mm) {
    database.prepare("INSERT INTO knife_fact (knife, name, mm, said) VALUES (?, ?, ?, ?)")
        .with(knife, of, *fact.mm, said)
        .run();
  } else {
    database.prepare("INSERT INTO knife_fact (knife, name, said) VALUES (?, ?, ?)")
        .with(knife, of, said)
        .run();
  }
}

void Record::say_facts(const std::string& knife, std::span<const SaidFact> said,
                       const std::string& when) {
  Database& database = inside_->database;
  const std::string of = checked_name(knife, "knife");
  sqlite::Transaction transaction(database);
  const std::int64_t id = knife_id_or_new(database, of, when);
  for (const SaidFact& fact : said) insert_fact(database, id, fact, when);
  transaction.commit();
}

KnifeFacts Record::facts(const std::string& knife) {
  Database& database = inside_->database;
  return fact_rows(database, knife_id(database, knife));
}

}  // namespace evenbevel
