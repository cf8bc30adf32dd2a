#include "journal/log_check.h"

#include <algorithm>
#include <cstdint>
#include <fstream>
#include <sstream>
#include <string_view>

namespace limegate::journal {
namespace {

constexpr std::size_t kHeader = 32;
constexpr std::size_t kFrameHeader = 24;
constexpr std::uint32_t kMagic = 0x377f0682;  ///< the lowest bit: sums over big-endian words

std::uint32_t word(std::string_view bytes, std::size_t at, bool big_endian = true) {
  std::uint32_t value = 0;
  for (std::size_t i = 0; i < 4; ++i) {
    const auto byte = static_cast<unsigned char>(bytes[at + (big_endian ? i : 3 - i)]);
    value = value << 8U | byte;
  }
  return value;
}

struct Sum {
  std::uint32_t first = 0, second = 0;
  void add(std::string_view bytes, bool big_endian) {
    for (std::size_t at = 0; at + 8 <= bytes.size(); at += 8) {
      first += word(bytes, at, big_endian) + second;
      second += word(bytes, at + 4, big_endian) + first;
    }
  }
  friend bool operator==(const Sum&, const Sum&) = default;
};

class Log {
 public:
  explicit Log(std::string_view bytes)
      : bytes_(bytes), big_endian_((word(bytes, 0) & 1U) != 0), page_(word(bytes, 8)) {
    sum_.add(bytes.substr(0, 24), big_endian_);
  }

  [[nodiscard]] bool header_fits() const {
    return (word(bytes_, 0) & ~1U) == kMagic && page_ >= 512 && page_ <= 65536 &&
           sum_ == Sum{word(bytes_, 24), word(bytes_, 28)};
  }
  [[nodiscard]] std::size_t frames() const {
    return (bytes_.size() - kHeader) / (kFrameHeader + page_);
  }
  [[nodiscard]] bool ends_within_a_frame() const {
    return (bytes_.size() - kHeader) % (kFrameHeader + page_) != 0;
  }
  [[nodiscard]] std::string_view frame(std::size_t i) const {
    return bytes_.substr(kHeader + i * (kFrameHeader + page_), kFrameHeader + page_);
  }
  /// How many of the two salts are this log's: frames of an earlier round have others.
  [[nodiscard]] int salts_of(std::size_t i) const {
    const std::string_view f = frame(i);
    return (word(f, 8) == word(bytes_, 16) ? 1 : 0) + (word(f, 12) == word(bytes_, 20) ? 1 : 0);
  }
  [[nodiscard]] bool commits(std::size_t i) const { return word(frame(i), 4) != 0; }
  /// Frames follow each other: asked of each in turn, until one does not fit.
  [[nodiscard]] bool next_fits(std::size_t i) {
    const std::string_view f = frame(i);
    sum_.add(f.substr(0, 8), big_endian_);
    sum_.add(f.substr(kFrameHeader), big_endian_);
    return salts_of(i) == 2 && sum_ == Sum{word(f, 16), word(f, 20)};
  }

 private:
  std::string_view bytes_;
  bool big_endian_;
  std::size_t page_;
  Sum sum_;
};

LogState state_of(std::string_view bytes) {
  if (bytes.size() < kHeader) {
    return bytes.empty() ? LogState::whole : LogState::unfinished;
  }
  Log log{bytes};
  if (!log.header_fits()) {
    // A header that never reached the disk reads as zeros; then nothing after it was synced.
    const bool zeros =
        std::all_of(bytes.begin(), bytes.begin() + kHeader, [](char byte) { return byte == '\0'; });
    return zeros || bytes.size() == kHeader ? LogState::unfinished : LogState::damaged;
  }
  std::size_t fits = 0;
  while (fits < log.frames() && log.next_fits(fits)) {
    ++fits;
  }
  int transactions = 0;
  bool ours = false;
  for (std::size_t i = fits; i < log.frames(); ++i) {
    // One salt of two is chance once in four thousand million, and else damage.
    ours = ours || log.salts_of(i) > 0;
    transactions += log.salts_of(i) == 2 && log.commits(i) ? 1 : 0;
  }
  // Each transaction is synced before the next one begins: only the newest can be cut off.
  if (transactions > 1) {
    return LogState::damaged;
  }
  return ours || (log.ends_within_a_frame() && fits == log.frames()) ? LogState::unfinished
                                                                     : LogState::whole;
}

}  // namespace

LogState check_log(const std::string& path) {
  std::ifstream file(path + "-wal", std::ios::binary);
  std::stringstream bytes;
  bytes << file.rdbuf();
  return state_of(bytes.str());
}

}  // namespace limegate::journal
