#pragma once

#include <array>
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "evenbevel/card.hpp"
#include "evenbevel/measure.hpp"
#include "evenbevel/record.hpp"

namespace evenbevel::bench {

/// What lies on the bench.
enum class BenchView { edge, pair, faces, section, finish_left, finish_right, practice, lens };

struct Order;
using MeasureKind = Written (*)(const Order& order, const std::filesystem::path& folder);

/// The tolerance that a verdict is by.
struct Judged {
  std::optional<KnifeFact> by = {};  ///< Empty: there is no verdict.
  std::string_view what = {};        ///< May be no larger than that; on the page.
};

/// All that the bench knows of a kind. A new one is a row of the table, and the function that
/// measures it (`measure_job`).
struct BenchKind {
  static constexpr int kMostSteps = 4;

  BenchView view;
  std::string_view name;   ///< In requests and folders.
  std::string_view label;  ///< On the page.
  CardKind card;
  bool needs_thickness;
  bool of_a_knife;    ///< Its report may go into a knife's record.
  bool asks = false;  ///< `PhotoAnswers` are of use to it.
  Judged judged = {};
  /// Null: its photos are gathered until they do (`lens_photos`).
  MeasureKind measure;
  /// What to do before each of its photos; empty beyond the last.
  std::array<std::string_view, kMostSteps> guide;

  int steps() const;  ///< Photos that it takes.
};

/// As the page lists them.
std::span<const BenchKind> bench_kinds();

const BenchKind& kind_of(BenchView view);
const BenchKind* kind_named(std::string_view name);  ///< Null: there is none.

}  // namespace evenbevel::bench
