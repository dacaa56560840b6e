#include <qrcodegen/qrcodegen.hpp>

#include "evenbevel/bench.hpp"

namespace evenbevel {

std::string qr_for_terminal(const std::string& text) {
  constexpr int kQuiet = 4;  // modules of light around it: ISO/IEC 18004, 6.3.8
  // Black on white by number, not by the terminal's own colours; two rows of modules a line.
  constexpr const char* kBlackOnWhite = "\x1b[38;5;16;48;5;231m";
  constexpr const char* kPlain = "\x1b[0m";
  const qrcodegen::QrCode code =
      qrcodegen::QrCode::encodeText(text.c_str(), qrcodegen::QrCode::Ecc::MEDIUM);
  std::string lines;
  for (int y = -kQuiet; y < code.getSize() + kQuiet; y += 2) {
    lines += kBlackOnWhite;
    for (int x = -kQuiet; x < code.getSize() + kQuiet; ++x) {
      const bool upper = code.getModule(x, y), lower = code.getModule(x, y + 1);
      lines += upper ? (lower ? "\u2588" : "\u2580") : (lower ? "\u2584" : " ");
    }
    lines += std::string(kPlain) + '\n';
  }
  return lines;
}

}  // namespace evenbevel
