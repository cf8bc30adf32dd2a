// The keeper's book in the ledger's file.

#include <chrono>

#include <gtest/gtest.h>

#include "journal/ledger_schema.h"
#include "journal/scratch.h"
#include "station/keepers_book.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

class Book : public Scratch {
 protected:
  [[nodiscard]] station::BookEntry entry(std::int64_t number) const {
    return {number,
            {12h, WallTime{490000h}},
            {WallTime{489999h}, "alkalinity", "8.1", "dKH", "drops, \"new\""}};
  }
};

TEST_F(Book, is_kept_whole_and_by_station) {
  {
    Ledger ledger = prepared();
    ASSERT_TRUE(ledger.write("reef", station::StoreBookEntry{entry(2)}, {}));
    ASSERT_TRUE(ledger.write("reef", station::StoreBookEntry{entry(1)}, {}));
    ASSERT_TRUE(ledger.write("nano", station::StoreBookEntry{entry(7)}, {}));
    station::BookEntry undone = entry(1);
    undone.undone = WallTime{490001h};
    ASSERT_TRUE(ledger.write("reef", station::StoreBookEntry{undone}, {}));
  }
  const Ledger ledger = opened({"reef", "nano"});
  const auto book = history(ledger).book;
  ASSERT_EQ(book.size(), 2U);
  EXPECT_EQ(book[0].number, 1);
  EXPECT_EQ(book[0].undone, WallTime{490001h});
  EXPECT_EQ(book[1].row, entry(2).row);
  EXPECT_EQ(book[1].entered, entry(2).entered);
  EXPECT_FALSE(book[1].undone);
  EXPECT_EQ(history(ledger, "nano").book.size(), 1U);
}

TEST_F(Book, keeps_what_the_station_knew_beside_an_entry) {
  {
    Ledger ledger = prepared();
    for (const std::int64_t number : {std::int64_t{1}, std::int64_t{2}, std::int64_t{3}}) {
      station::BookEntry known = entry(number);
      known.given_before = number == 2 ? std::nullopt : std::optional{Millilitres{12345.678}};
      known.ph_shown = number == 3 ? std::nullopt : std::optional{Ph{8.2125}};
      ASSERT_TRUE(ledger.write("reef", station::StoreBookEntry{known}, {}));
    }
    station::BookEntry undone = history(ledger).book[0];
    undone.undone = WallTime{490001h};
    ASSERT_TRUE(ledger.write("reef", station::StoreBookEntry{undone}, {}));
  }
  const Ledger ledger = opened();
  const auto book = history(ledger).book;
  ASSERT_EQ(book.size(), 3U);
  EXPECT_NEAR(book[0].given_before->count(), 12345.678, 1e-6);
  EXPECT_NEAR(book[0].ph_shown->count(), 8.213, 1e-9);
  EXPECT_FALSE(book[1].given_before);
  EXPECT_FALSE(book[2].ph_shown);
}

TEST_F(Book, of_an_entry_whose_beside_is_damaged_knows_less_and_says_so) {
  {
    Ledger ledger = prepared();
    station::BookEntry known = entry(1);
    known.given_before = Millilitres{100.0};
    ASSERT_TRUE(ledger.write("reef", station::StoreBookEntry{known}, {}));
  }
  tamper("UPDATE book_beside SET given_before_ul = 0");
  const Ledger ledger = opened();
  ASSERT_EQ(history(ledger).book.size(), 1U);
  EXPECT_FALSE(history(ledger).book[0].given_before);
  EXPECT_FALSE(full(history(ledger))) << "no dose hangs on it";
  ASSERT_EQ(ledger.notes().size(), 1U);
}

TEST_F(Book, of_an_older_version_is_kept_and_knows_nothing_beside_it) {
  {
    Ledger ledger = prepared();
    ASSERT_TRUE(ledger.write("reef", station::StoreBookEntry{entry(1)}, {}));
  }
  tamper(back_to_schema(10));
  const Ledger ledger = opened();
  EXPECT_EQ(number("PRAGMA user_version"), kSchema);
  ASSERT_EQ(history(ledger).book.size(), 1U);
  EXPECT_EQ(history(ledger).book[0].row, entry(1).row);
  EXPECT_FALSE(history(ledger).book[0].given_before);
}

TEST_F(Book, has_a_bound) {
  Ledger ledger = prepared();
  constexpr auto most = static_cast<std::int64_t>(2 * station::KeepersBook::kEntriesMost);
  station::BookEntry step = entry(1);
  step.row.what = "step";
  ASSERT_TRUE(ledger.write("reef", station::StoreBookEntry{step}, {}));
  for (const std::int64_t number : {std::int64_t{2}, std::int64_t{3}, most, most + 2}) {
    ASSERT_TRUE(ledger.write("reef", station::StoreBookEntry{entry(number)}, {}));
  }
  const auto book = history(ledger).book;
  ASSERT_EQ(book.size(), 4U);
  EXPECT_EQ(book[0].number, 1) << "a step of commissioning stays";
  EXPECT_EQ(book[1].number, 3);
}

TEST_F(Book, of_a_damaged_row_loses_it_alone_and_says_so) {
  {
    Ledger ledger = prepared();
    ASSERT_TRUE(ledger.write("reef", station::StoreBookEntry{entry(1)}, {}));
    ASSERT_TRUE(ledger.write("reef", station::StoreBookEntry{entry(2)}, {}));
  }
  tamper("UPDATE book SET value = '8.9' WHERE number = 1");
  const Ledger ledger = opened();
  ASSERT_EQ(history(ledger).book.size(), 1U);
  EXPECT_EQ(history(ledger).book[0].number, 2);
  EXPECT_FALSE(full(history(ledger))) << "no dose hangs on it";
  ASSERT_EQ(ledger.notes().size(), 1U);
  EXPECT_NE(ledger.notes()[0].find("write it again"), std::string::npos) << ledger.notes()[0];
  EXPECT_TRUE(opened().notes().empty()) << "told once";
}

TEST_F(Book, begins_empty_in_a_file_of_an_older_version_and_keeps_all_else) {
  {
    Ledger ledger = prepared();
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, 1)));
  }
  tamper(back_to_schema(9));
  Ledger ledger = opened();
  EXPECT_EQ(number("PRAGMA user_version"), kSchema);
  EXPECT_TRUE(history(ledger).book.empty());
  EXPECT_EQ(history(ledger).newest_pulse_id, 1);
  EXPECT_TRUE(ledger.write("reef", station::StoreBookEntry{entry(1)}, {}));
  EXPECT_TRUE(ledger.notes().empty()) << ledger.notes().front();
}

}  // namespace
}  // namespace limegate::journal
