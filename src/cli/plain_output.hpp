#pragma once

#include <ostream>
#include <streambuf>

namespace evenbevel::cli {

/// While it lives, a stream shows control characters as question marks, but for ends of lines,
/// returns and tabs: the names of files, knives and cameras come from anybody, and must not steer
/// the terminal.
class PlainOutput : public std::streambuf {
 public:
  explicit PlainOutput(std::ostream& stream) : stream_(stream), to_(stream.rdbuf(this)) {}
  ~PlainOutput() override { stream_.rdbuf(to_); }
  PlainOutput(const PlainOutput&) = delete;
  PlainOutput& operator=(const PlainOutput&) = delete;

 protected:
  int_type overflow(int_type next) override {
    if (traits_type::eq_int_type(next, traits_type::eof())) return traits_type::not_eof(next);
    const auto byte = static_cast<unsigned char>(traits_type::to_char_type(next));
    const bool ascii_control =
        (byte < 0x20 && byte != '\n' && byte != '\r' && byte != '\t') || byte == 0x7F;
    // U+0080 to U+009F in UTF-8.
    const bool high_control = after_c2_ && byte >= 0x80 && byte <= 0x9F;
    if (after_c2_ && !high_control && !put(static_cast<char>(0xC2))) return traits_type::eof();
    after_c2_ = byte == 0xC2;
    if (after_c2_) return next;
    return put(ascii_control || high_control ? '?' : static_cast<char>(byte)) ? next
                                                                              : traits_type::eof();
  }
  int sync() override { return to_->pubsync(); }

 private:
  bool put(char byte) { return !traits_type::eq_int_type(to_->sputc(byte), traits_type::eof()); }

  std::ostream& stream_;
  std::streambuf* to_;
  bool after_c2_ = false;  ///< Held back until the next byte is known.
};

}  // namespace evenbevel::cli
