#pragma once

#include <filesystem>
#include <vector>

#include "bench/set_up.hpp"
#include "evenbevel/bench.hpp"
#include "evenbevel/measure.hpp"
#include "evenbevel/record.hpp"

namespace evenbevel::bench {

/// A photo as it lies in the bench's folder.
struct BenchPhoto {
  std::filesystem::path file = {};
  bool live = false;  ///< Taken by the bench's own camera.

  bool operator==(const BenchPhoto&) const = default;
};

/// What is to be measured.
struct Order {
  const BenchSettings& settings;
  SetUp set_up = {};
  PhotoAnswers answers = {};
  std::string live_camera_file = {};    ///< Of the bench's own camera; empty: its lens is guessed.
  KnifeFacts known = {};                ///< Of the knife.
  KnifeFacts of_shop = {};              ///< What shop.toml says.
  std::vector<BenchPhoto> photos = {};  ///< In the order of the set-up's steps; at least one.
};

/// Reads a photo, which no message then names by a path of this computer.
/// @throws Error  It cannot be read.
Photo read_bench_photo(const BenchPhoto& photo);

// Each measures an order's photos and writes their report.
// Throws Error: they cannot be measured, or the folder cannot be written.
Written measure_edges_on_bench(const Order& order, const std::filesystem::path& folder);
Written measure_faces_on_bench(const Order& order, const std::filesystem::path& folder);
Written measure_left_finish_on_bench(const Order& order, const std::filesystem::path& folder);
Written measure_right_finish_on_bench(const Order& order, const std::filesystem::path& folder);
Written measure_section_on_bench(const Order& order, const std::filesystem::path& folder);
Written measure_practice_on_bench(const Order& order, const std::filesystem::path& folder);

}  // namespace evenbevel::bench
