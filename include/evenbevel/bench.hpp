#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "evenbevel/card.hpp"
#include "evenbevel/record.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {

// The bench page: a phone at the grinder chooses what is on the bench, sends photos, and gets the
// finding, the number and the picture back; into the record too, if a knife is named.

/// A card as the shop prints it, and who says so ("shop.toml", "default").
struct BenchCard {
  PrintScale print = {};
  std::string from = "default";
};

/// What a stranger on the shop's network may use up.
struct BenchLimits {
  std::size_t photo_bytes = 40'000'000;
  std::size_t header_bytes = 16'384;
  std::size_t connections = 64;
  std::size_t waiting_photos = 256;
  std::chrono::milliseconds header_time{15'000};  ///< From the first byte that may come.
  std::chrono::milliseconds chunk_time{10'000};   ///< For each 64 KiB of a photo,
  std::chrono::milliseconds body_time{180'000};   ///< and for all of it.
};

struct BenchSettings {
  std::uint16_t port = 0;                            ///< 0: a free one.
  bool local = false;                                ///< Only this computer can reach it.
  std::filesystem::path certificate = {}, key = {};  ///< PEM; both: HTTPS.
  std::filesystem::path folder;                      ///< For photos and reports; made when missing.
  std::filesystem::path record_file;                 ///< Made when a first photo is kept.
  std::string knife = {};                            ///< On the bench at the start; may be empty.
  LengthUnit unit = LengthUnit::mm;
  std::string unit_from = "default";
  /// Tolerances and land as shop.toml says them; the knife's own go before.
  KnifeFacts of_shop = {};
  /// Says one of them to shop.toml, in mm; empty: takes it back. May throw Error. Not set: the page
  /// changes nothing there.
  std::function<void(KnifeFact, std::optional<double>)> say_to_shop = {};
  BenchCard edge_card = {}, side_card = {}, heel_card = {}, lens_card = {};
  /// A camera on this computer, for the live view (live.hpp says what it may be); empty: none.
  std::string camera_source = {};
  std::string camera_file = {};  ///< Of that camera; empty: its lens is guessed.
  std::string command_line = {};
  std::function<void(const std::string&)> tell = {};  ///< A line for the terminal; any thread.
  BenchLimits limits = {};
};

/// Listens from the start, answers while it runs.
class BenchServer {
 public:
  /// @throws Error  The port is taken, the folder cannot be written, the certificate not read.
  explicit BenchServer(BenchSettings settings);
  ~BenchServer();
  BenchServer(const BenchServer&) = delete;
  BenchServer& operator=(const BenchServer&) = delete;

  std::uint16_t port() const;
  /// 128 bits from the system's own source, in 32 hexadecimal digits; new for each server.
  const std::string& token() const;
  /// With the token: what a phone opens. The likeliest first.
  std::vector<std::string> addresses() const;

  /// Until `stop` (a file descriptor) becomes readable; what is being measured then is finished.
  /// @return  Photos that were still waiting: they lie in the folder.
  std::size_t run(int stop);

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

/// The text as a QR code of block characters with its quiet zone, for a terminal of dark or light
/// ground: each block says its own colours.
std::string qr_for_terminal(const std::string& text);

}  // namespace evenbevel
