// Rows that are missing without a trace in any of those that are left: in the middle, and at the
// end.

#include <filesystem>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "journal/scratch.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

class MissingRows : public Scratch {
 protected:
  /// Pulses of these numbers, an hour apart.
  void write(const std::vector<std::int64_t>& ids) {
    Ledger ledger = prepared();
    for (const std::int64_t id : ids) {
      later(1h);
      ASSERT_TRUE(ledger.append("reef", pulse(ledger, id)));
    }
  }
  [[nodiscard]] std::string content(const std::string& file) const {
    std::ifstream in{file, std::ios::binary};
    std::stringstream text;
    text << in.rdbuf();
    return text.str();
  }
};

TEST_F(MissingRows, none_is_sound) {
  write({1, 2, 3, 4});
  EXPECT_THAT(opened().notes(), IsEmpty());
  EXPECT_FALSE(full(history(opened())));
}

TEST_F(MissingRows, in_the_middle_of_today_count_as_full_once) {
  write({1, 2, 4});
  const Ledger ledger = opened();
  EXPECT_TRUE(full(history(ledger)));
  EXPECT_THAT(ledger.notes(), ElementsAre(HasSubstr("Numbers of pulses are missing")));
  EXPECT_THAT(opened().notes(), IsEmpty()) << "found once";
  EXPECT_TRUE(full(history(opened())));
  later(24h);
  EXPECT_FALSE(full(history(opened())));
  EXPECT_THAT(opened().notes(), IsEmpty());
}

TEST_F(MissingRows, before_the_first_count_as_full) {
  write({2, 3});
  EXPECT_TRUE(full(history(opened())));
}

TEST_F(MissingRows, whose_newer_neighbour_is_a_second_short_of_a_day_old_may_be_of_today) {
  write({1, 2, 4});
  later(24h - 1s);
  EXPECT_TRUE(full(history(opened())));
}

TEST_F(MissingRows, whose_newer_neighbour_is_a_day_old_are_not_of_today) {
  write({1, 2, 4});
  later(24h);
  EXPECT_THAT(opened().notes(), IsEmpty());
  EXPECT_FALSE(full(history(opened())));
}

TEST_F(MissingRows, that_a_lost_record_left_behind_are_not_found_again) {
  write({1, 2, 3});
  copy->newest_sent = 9;  // an older ledger was put back: numbers go on from 10
  EXPECT_TRUE(full(history(opened())));
  EXPECT_EQ(history(opened()).newest_pulse_id, 9);
  later(25h);
  {
    Ledger ledger = opened();
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, 10)));
  }
  copy->newest_sent = 10;
  EXPECT_THAT(opened().notes(), IsEmpty());
  EXPECT_FALSE(full(history(opened())));
}

TEST_F(MissingRows, presumed_at_this_opening_counts_even_if_its_row_is_not_found) {
  Ledger ledger = prepared();
  ASSERT_TRUE(ledger.presume_full("reef", "A test.", boot.now));
  tamper("DELETE FROM pulses");
  EXPECT_TRUE(full(history(ledger))) << "what was said and what is done come from one value";
}

/// The files as a program that was killed leaves them.
class LostTail : public MissingRows {
 protected:
  void kill_after(const std::function<void(Ledger&)>& writes) {
    (void)prepared();
    Ledger ledger = opened();
    writes(ledger);
    const std::string file = content(path);
    const std::string log = content(path + "-wal");
    path = (folder / "killed.sqlite").string();
    put(file);
    std::ofstream{path + "-wal", std::ios::binary} << log;
  }
  void cut_log(std::size_t bytes) const {
    std::filesystem::resize_file(path + "-wal", std::filesystem::file_size(path + "-wal") - bytes);
  }
  void three_pulses() {
    kill_after([this](Ledger& ledger) {
      for (const std::int64_t id : {1, 2, 3}) {
        ASSERT_TRUE(ledger.append("reef", pulse(ledger, id)));
      }
    });
    copy->newest_sent = 3;
  }
};

TEST_F(LostTail, none_is_lost_by_a_kill) {
  three_pulses();
  const Ledger ledger = opened();
  EXPECT_THAT(ledger.notes(), IsEmpty());
  EXPECT_EQ(sum(history(ledger)), 90.0);
}

TEST_F(LostTail, of_a_log_that_was_cut_counts_as_full) {
  three_pulses();
  cut_log(4096 + 24);
  EXPECT_TRUE(full(history(opened())));
}

TEST_F(LostTail, of_a_log_that_is_gone_counts_as_full) {
  three_pulses();
  std::filesystem::remove(path + "-wal");
  EXPECT_TRUE(full(history(opened())));
}

// The guard knows that no pulse is missing; something else may be, and a person is told.
TEST_F(LostTail, that_was_being_written_is_told_and_holds_nothing) {
  three_pulses();
  cut_log(100);
  copy->newest_sent = 2;
  const Ledger ledger = opened();
  EXPECT_FALSE(full(history(ledger)));
  EXPECT_EQ(sum(history(ledger)), 60.0);
  EXPECT_THAT(ledger.notes(), ElementsAre(HasSubstr("newest entry of the ledger's log")));
}

TEST_F(LostTail, beside_no_copy_may_have_been_a_latch) {
  three_pulses();
  cut_log(100);
  copy.reset();
  EXPECT_THAT(history(opened()).latches, ElementsAre("record"));
}

TEST_F(LostTail, behind_a_damaged_transaction_sets_the_file_aside) {
  three_pulses();
  std::string log = content(path + "-wal");
  log[32 + 24 + 100] = static_cast<char>(log[32 + 24 + 100] ^ 1);
  std::ofstream{path + "-wal", std::ios::binary} << log;
  const Ledger ledger = opened();
  EXPECT_TRUE(full(history(ledger)));
  EXPECT_EQ(kept_aside(), 1U);
  EXPECT_EQ(history(ledger).newest_pulse_id, 3);
}

}  // namespace
}  // namespace limegate::journal
