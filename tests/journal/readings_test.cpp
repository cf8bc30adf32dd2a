#include "journal/readings.h"

#include <filesystem>

#include <gtest/gtest.h>

#include "support/program.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr WallTime kNoon{Duration{1'772'366'400s}};

ReadingRow row(WallTime at, double ph) { return {at, "reef", ph, 25.5, "good", "good", true}; }

class ReadingsTest : public testing::Test {
 protected:
  std::int64_t number(const std::string& sql) {
    const auto database = Database::open(path_, Creating::no, Sync::normal);
    EXPECT_TRUE(database.has_value());
    return database->number(sql).value_or(-1);
  }
  test::TempDir folder_;
  std::string path_ = folder_.path() + "/readings.db";
};

TEST_F(ReadingsTest, a_batch_is_written_whole_with_what_is_missing_left_missing) {
  auto readings = Readings::open(path_, kNoon);
  ASSERT_TRUE(readings.has_value());
  ReadingRow missing = row(kNoon + 10s, 0);
  missing.ph.reset();
  missing.ph_quality = "stale";
  const station::Event event{kNoon, station::Severity::alert, "ledger", "Something happened."};
  ASSERT_TRUE(readings->append({row(kNoon, 8.214), missing}, {{"reef", event}}).has_value());
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 2);
  EXPECT_EQ(number("SELECT ph_thousandths FROM readings WHERE ph_quality = 'good'"), 8214);
  EXPECT_EQ(number("SELECT count(*) FROM readings WHERE ph_thousandths IS NULL"), 1);
  EXPECT_EQ(number("SELECT count(*) FROM events WHERE code = 'ledger' AND severity = 2"), 1);
}

TEST_F(ReadingsTest, old_rows_become_ten_minute_means) {
  auto readings = Readings::open(path_, kNoon);
  ASSERT_TRUE(readings.has_value());
  // Six rows in one slot: (8.10 + 8.12 + 8.14 + 8.16 + 8.18 + 8.20) / 6 = 8.15.
  std::vector<ReadingRow> rows;
  rows.reserve(7);
  for (int i = 0; i < 6; ++i) {
    rows.push_back(row(kNoon + i * 100s, 8.10 + 0.02 * i));
  }
  rows.push_back(row(kNoon + 24h * 15, 8.30));
  ASSERT_TRUE(readings->append(rows, {}).has_value());
  ASSERT_TRUE(readings->thin_out(kNoon + 24h * 15, {}).has_value());
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 1) << "what is young stays as it is";
  EXPECT_EQ(number("SELECT count(*) FROM means"), 1);
  EXPECT_EQ(number("SELECT ph_mean FROM means"), 8150);
  EXPECT_EQ(number("SELECT ph_low FROM means"), 8100);
  EXPECT_EQ(number("SELECT ph_high FROM means"), 8200);
  EXPECT_EQ(number("SELECT rows FROM means"), 6);
  // Past five years the mean goes too.
  ASSERT_TRUE(readings->thin_out(kNoon + 24h * 366 * 6, {}).has_value());
  EXPECT_EQ(number("SELECT count(*) FROM means WHERE at_s < 1772370000"), 0);
}

TEST_F(ReadingsTest, a_damaged_file_is_kept_aside_and_begun_anew) {
  test::write_file(path_, std::string(8192, 'x'));
  auto readings = Readings::open(path_, kNoon);
  ASSERT_TRUE(readings.has_value());
  EXPECT_TRUE(readings->append({row(kNoon, 8.2)}, {}).has_value());
  EXPECT_TRUE(std::filesystem::exists(path_ + ".damaged-1772366400"));
}

}  // namespace
}  // namespace limegate::journal
