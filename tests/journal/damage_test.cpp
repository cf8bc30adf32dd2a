// Damaged rows and files: what can't be known counts as full, what is damaged is kept.

#include <gtest/gtest.h>

#include "journal/ledger.h"
#include "journal/scratch.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using station::Fate;

struct Flip {
  const char* column;
  const char* table;
};
void PrintTo(const Flip& row, std::ostream* out) { *out << row.table << "_" << row.column; }

class DamagedRow : public Scratch, public testing::WithParamInterface<Flip> {
 protected:
  void write_rows() {
    ASSERT_TRUE(Ledger::prepare(path, {"reef", "nano"}, boot));
    Ledger ledger = opened({"reef", "nano"});
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, 5)));
    ASSERT_TRUE(ledger.append("reef", station::StirRecord{3, 15min, stamp(ledger)}));
    ASSERT_TRUE(ledger.close_stir("reef", 3, stamp(ledger)));
  }
};

TEST_P(DamagedRow, one_flipped_bit_makes_the_last_day_full_and_the_row_is_set_aside) {
  write_rows();
  const std::string column = GetParam().column;
  const std::string table = GetParam().table;
  tamper("UPDATE " + table + " SET " + column + " = (" + column + " | 64) - (" + column + " & 64)");
  const Ledger ledger = opened({"reef", "nano"});
  EXPECT_TRUE(full(history(ledger)));
  EXPECT_EQ(ledger.notes().size(), 2U);
  EXPECT_EQ(number("SELECT count(*) FROM damaged"), 1);
  EXPECT_TRUE(full(history(ledger, "nano"))) << "it may as well have been this one's";
  EXPECT_EQ(kept_aside(), 0U) << "the file itself is sound";
  EXPECT_TRUE(opened({"reef", "nano"}).notes().empty()) << "found once";
}
INSTANTIATE_TEST_SUITE_P(
    , DamagedRow,
    testing::Values(Flip{"id", "pulses"}, Flip{"volume_ul", "pulses"},
                    Flip{"duration_ms", "pulses"}, Flip{"reserved_lifetime_ms", "pulses"},
                    Flip{"reserved_wall_ms", "pulses"}, Flip{"end_lifetime_ms", "pulses"},
                    Flip{"end_wall_ms", "pulses"}, Flip{"fate", "pulses"},
                    Flip{"counted_ul", "pulses"}, Flip{"checksum", "pulses"}, Flip{"id", "stirs"},
                    Flip{"duration_ms", "stirs"}, Flip{"start_lifetime_ms", "stirs"},
                    Flip{"start_wall_ms", "stirs"}, Flip{"end_lifetime_ms", "stirs"},
                    Flip{"end_wall_ms", "stirs"}, Flip{"checksum", "stirs"}),
    [](const auto& row) { return std::string{row.param.table} + "_" + row.param.column; });

class Damage : public Scratch {};

TEST_F(Damage, a_row_whose_boot_was_changed_is_damaged) {
  Ledger ledger = prepared();
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 5)));
  tamper("UPDATE pulses SET boot = 'boot-7'");
  EXPECT_TRUE(full(history(opened())));
}

TEST_F(Damage, a_row_whose_station_can_no_longer_be_read_is_nobodys_and_fills_every_day) {
  ASSERT_TRUE(Ledger::prepare(path, {"reef", "nano"}, boot));
  {
    Ledger ledger = opened({"reef", "nano"});
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, 5)));
  }
  tamper("UPDATE pulses SET station = 'reeg'");
  const Ledger ledger = opened({"reef", "nano"});
  EXPECT_TRUE(full(history(ledger, "reef"))) << "its dose is lost, so its day counts as full";
  EXPECT_TRUE(full(history(ledger, "nano"))) << "it may as well have been this one's";
  EXPECT_EQ(number("SELECT count(*) FROM damaged"), 1);
  EXPECT_TRUE(opened({"reef", "nano"}).notes().empty()) << "found once";
}

TEST_F(Damage, a_row_that_was_moved_to_another_station_fills_both_days) {
  ASSERT_TRUE(Ledger::prepare(path, {"tank1", "tank3"}, boot));
  {
    Ledger ledger = opened({"tank1", "tank3"});
    ASSERT_TRUE(ledger.append("tank1", pulse(ledger, 5)));
  }
  tamper("UPDATE pulses SET station = 'tank3'");  // one bit
  const Ledger ledger = opened({"tank1", "tank3"});
  EXPECT_TRUE(full(history(ledger, "tank1")));
  EXPECT_TRUE(full(history(ledger, "tank3")));
}

TEST_F(Damage, a_row_that_was_damaged_while_open_is_neither_closed_nor_made_sound) {
  Ledger ledger = prepared();
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 5)));
  ASSERT_TRUE(ledger.append("reef", station::StirRecord{3, 15min, stamp(ledger)}));
  tamper("UPDATE pulses SET end_wall_ms = end_wall_ms + 1");
  tamper("UPDATE stirs SET start_wall_ms = start_wall_ms + 1");
  const auto closed = ledger.close_pulse("reef", 5, Fate::not_given, Millilitres{0.0});
  ASSERT_FALSE(closed);
  EXPECT_EQ(closed.error().fault, StorageFault::damaged);
  const auto stir = ledger.close_stir("reef", 3, stamp(ledger));
  ASSERT_FALSE(stir) << "a new sum would hide the damage";
  EXPECT_EQ(stir.error().fault, StorageFault::damaged);
  EXPECT_TRUE(full(history(opened())));
}

TEST_F(Damage, of_many_rows_is_told_once_a_station) {
  Ledger ledger = prepared();
  for (const std::int64_t id : {1, 2, 3}) {
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, id)));
  }
  tamper("UPDATE pulses SET counted_ul = 0");
  const Ledger again = opened();
  ASSERT_EQ(again.notes().size(), 1U);
  EXPECT_NE(again.notes().front().find("3 rows of the table pulses"), std::string::npos)
      << again.notes().front();
  EXPECT_EQ(history(again).doses.size(), 1U);
}

TEST_F(Damage, a_missing_ledger_is_begun_anew_and_full) {
  Ledger ledger = opened();
  EXPECT_TRUE(full(history(ledger)));
  ASSERT_EQ(ledger.notes().size(), 2U);
  EXPECT_NE(ledger.notes().front().find("missing"), std::string::npos);
  EXPECT_NE(ledger.notes().front().find("limegate prepare"), std::string::npos);
}

TEST_F(Damage, a_station_that_the_ledger_does_not_know_is_full_and_the_others_are_not) {
  (void)prepared();
  const Ledger ledger = opened({"reef", "nano"});
  EXPECT_FALSE(full(history(ledger, "reef")));
  EXPECT_TRUE(full(history(ledger, "nano")));
  later(25h);
  EXPECT_FALSE(full(history(opened({"reef", "nano"}), "nano")));
}

class DamagedFile : public Scratch {
 protected:
  void expect_kept_and_full(const std::string& with) {
    put(with);
    const Ledger ledger = opened();
    EXPECT_TRUE(full(history(ledger)));
    EXPECT_EQ(kept_aside(), 1U);
    ASSERT_FALSE(ledger.notes().empty());
    EXPECT_NE(ledger.notes().front().find("damaged"), std::string::npos);
  }
  /// A ledger with many rows as one file, its log folded in.
  std::string whole() {
    {
      Ledger ledger = prepared();
      for (std::int64_t id = 1; id <= 200; ++id) {
        EXPECT_TRUE(ledger.append("reef", pulse(ledger, id)));
      }
    }
    tamper("PRAGMA wal_checkpoint(TRUNCATE)");
    std::string content = bytes();
    for (const char* suffix : {"", "-wal", "-shm"}) {
      std::filesystem::remove(path + suffix);
    }
    return content;
  }
};

TEST_F(DamagedFile, text_is_kept_aside) { expect_kept_and_full("This is not a ledger at all.\n"); }
TEST_F(DamagedFile, an_empty_file_is_kept_aside) { expect_kept_and_full(""); }
TEST_F(DamagedFile, zeros_are_kept_aside) { expect_kept_and_full(std::string(8192, '\0')); }
TEST_F(DamagedFile, half_a_ledger_is_kept_aside) {
  const std::string content = whole();
  expect_kept_and_full(content.substr(0, content.size() / 2));
}
TEST_F(DamagedFile, a_ledger_cut_to_its_first_page_is_kept_aside) {
  expect_kept_and_full(whole().substr(0, 4096));
}
TEST_F(DamagedFile, a_ledger_with_a_wiped_page_is_kept_aside) {
  std::string content = whole();
  ASSERT_GT(content.size(), 5U * 4096);
  content.replace(content.size() - 4096, 4096, std::string(4096, '\xff'));
  expect_kept_and_full(content);
}
TEST_F(DamagedFile, another_programs_database_is_kept_aside) {
  {
    const auto other = Database::open(path, Creating::yes, Sync::normal);
    ASSERT_TRUE(other->execute("CREATE TABLE cats(name TEXT)"));
    ASSERT_TRUE(other->execute("PRAGMA wal_checkpoint(TRUNCATE)"));
  }
  const Ledger ledger = opened();
  EXPECT_TRUE(full(history(ledger)));
  EXPECT_EQ(kept_aside(), 1U);
}

TEST_F(DamagedFile, two_in_one_second_are_both_kept) {
  put("first");
  (void)opened();
  for (const char* suffix : {"-wal", "-shm"}) {
    std::filesystem::remove(path + suffix);
  }
  put("second");
  (void)opened();
  EXPECT_EQ(kept_aside(), 2U);
}

TEST_F(DamagedFile, a_ledger_of_a_newer_version_is_refused_and_left_alone) {
  (void)prepared();
  tamper("PRAGMA user_version = 99");
  for (const bool prepare : {true, false}) {
    const StorageError error = prepare ? Ledger::prepare(path, {"reef"}, boot).error()
                                       : Ledger::open(path, {{"reef", copy}}, boot).error();
    EXPECT_EQ(error.fault, StorageFault::too_new);
    EXPECT_STREQ(error.what(), "written by a newer version");
  }
  EXPECT_EQ(kept_aside(), 0U);
  EXPECT_EQ(number("PRAGMA user_version"), 99);
}

TEST_F(DamagedFile, prepare_replaces_nothing_that_is_damaged) {
  put("This is not a ledger at all.\n");
  const auto added = Ledger::prepare(path, {"reef"}, boot);
  ASSERT_FALSE(added);
  EXPECT_EQ(added.error().fault, StorageFault::damaged);
  EXPECT_EQ(bytes(), "This is not a ledger at all.\n");
}

TEST_F(DamagedFile, a_folder_that_is_missing_is_an_error) {
  path = (folder / "gone" / "ledger.sqlite").string();
  EXPECT_FALSE(Ledger::open(path, {{"reef", copy}}, boot));
  EXPECT_FALSE(Ledger::prepare(path, {"reef"}, boot));
}

TEST(StorageErrors, have_words_for_each_fault) {
  for (const StorageFault fault :
       {StorageFault::no_room, StorageFault::read_only, StorageFault::io_error,
        StorageFault::damaged, StorageFault::too_new, StorageFault::missing}) {
    EXPECT_STRNE((StorageError{fault, ""}.what()), "");
  }
}

}  // namespace
}  // namespace limegate::journal
