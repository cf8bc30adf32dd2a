// The write-ahead log as SQLite itself wrote it, whole and harmed.

#include "journal/log_check.h"

#include <filesystem>

#include <gtest/gtest.h>

#include "journal/scratch.h"

namespace limegate::journal {
namespace {

class LogCheck : public Scratch {
 protected:
  /// A log of several transactions, as a program that was killed leaves it.
  LogCheck() {
    Ledger ledger = prepared();
    for (const std::int64_t id : {1, 2, 3, 4, 5, 6}) {
      EXPECT_TRUE(ledger.append("reef", pulse(ledger, id)));
    }
    log_ = content(path + "-wal");
  }
  [[nodiscard]] LogState of(const std::string& log) const {
    const std::string other = (folder / "other").string();
    std::ofstream{other + "-wal", std::ios::binary} << log;
    return check_log(other);
  }
  [[nodiscard]] static std::string content(const std::string& file) {
    std::ifstream in{file, std::ios::binary};
    std::stringstream text;
    text << in.rdbuf();
    return text.str();
  }
  static constexpr std::size_t kFrame = 4096 + 24;
  std::string log_;
};

TEST_F(LogCheck, as_it_was_left_is_whole) {
  ASSERT_GE(log_.size(), 32 + 6 * kFrame);
  EXPECT_EQ(of(log_), LogState::whole);
  EXPECT_EQ(of(""), LogState::whole);
  EXPECT_EQ(check_log((folder / "no such file").string()), LogState::whole);
}

TEST_F(LogCheck, cut_within_a_frame_is_unfinished) {
  EXPECT_EQ(of(log_.substr(0, log_.size() - 1)), LogState::unfinished);
  EXPECT_EQ(of(log_.substr(0, log_.size() - kFrame + 1)), LogState::unfinished);
  EXPECT_EQ(of(log_.substr(0, 31)), LogState::unfinished);
}

// Nothing was ever synced behind it, so nothing is lost with it.
TEST_F(LogCheck, that_is_a_header_alone_is_unfinished_even_if_it_does_not_fit) {
  std::string header = log_.substr(0, 32);
  header[24] = static_cast<char>(header[24] ^ 1);
  EXPECT_EQ(of(header), LogState::unfinished);
  EXPECT_EQ(of(header + log_.substr(32)), LogState::damaged);
}

TEST_F(LogCheck, with_a_flipped_bit_anywhere_is_never_whole) {
  const std::size_t last = log_.size() - kFrame;
  for (std::size_t at = 0; at < log_.size(); at += at % kFrame < 64 ? 1 : 61) {
    std::string harmed = log_;
    harmed[at] = static_cast<char>(harmed[at] ^ (1 << at % 8));
    const LogState state = of(harmed);
    EXPECT_NE(state, LogState::whole) << "byte " << at;
    if (at > 32 + 24 && at < last - kFrame) {
      EXPECT_EQ(state, LogState::damaged) << "byte " << at;
    }
  }
}

TEST_F(LogCheck, with_frames_of_an_earlier_round_behind_it_is_whole) {
  // A log is begun anew in place after a checkpoint: what it held before stays behind, other salts.
  std::string longer = log_;
  std::string stale = log_.substr(32, 2 * kFrame);
  for (std::size_t frame = 0; frame < 2; ++frame) {
    for (std::size_t salt = 8; salt < 16; ++salt) {
      stale[frame * kFrame + salt] = static_cast<char>(stale[frame * kFrame + salt] ^ 0x55);
    }
  }
  EXPECT_EQ(of(longer + stale), LogState::whole);
}

TEST_F(LogCheck, whose_newest_transaction_has_no_end_is_unfinished_only_if_it_does_not_fit) {
  std::string harmed = log_;
  harmed[log_.size() - 7] = static_cast<char>(harmed[log_.size() - 7] ^ 4);
  EXPECT_EQ(of(harmed), LogState::unfinished);
}

}  // namespace
}  // namespace limegate::journal
