#include "station/wishes.h"

#include <chrono>
#include <cmath>
#include <variant>

#include <gtest/gtest.h>

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Millilitres kInFile{720.0};
constexpr Instant kNow{100h};
const dosing::Stamp kToday{1000h, WallTime{500000h}};

Wish volume(Wish::What what, double ml) { return {what, Millilitres{ml}, {}, kToday}; }
Wish pause(Wish::What what, Duration lasting, dosing::Stamp asked) {
  return {what, {}, lasting, asked};
}
Wishes after_restart(const std::vector<Wish>& known) { return {kInFile, known, kToday, kNow}; }

TEST(Wishes, are_the_files_without_a_record) {
  const Wishes wishes = after_restart({});
  EXPECT_EQ(wishes.day_volume(), kInFile);
  EXPECT_EQ(wishes.day_volume_at_station(), kInFile);
  EXPECT_FALSE(wishes.paused_until());
}

TEST(Wishes, volumes_come_back_if_the_file_says_the_same) {
  const Wishes wishes = after_restart({volume(Wish::What::volume_in_file, 720.0),
                                       volume(Wish::What::volume_at_station, 500.0),
                                       volume(Wish::What::volume_from_afar, 200.0)});
  EXPECT_EQ(wishes.day_volume().count(), 200.0);
  EXPECT_EQ(wishes.day_volume_at_station().count(), 500.0);
}

TEST(Wishes, volumes_are_forgotten_when_the_file_was_changed) {
  const Wishes wishes = after_restart({volume(Wish::What::volume_in_file, 700.0),
                                       volume(Wish::What::volume_at_station, 500.0),
                                       volume(Wish::What::volume_from_afar, 200.0)});
  EXPECT_EQ(wishes.day_volume(), kInFile);
}

TEST(Wishes, from_afar_above_the_stations_are_damage_and_not_believed) {
  const Wishes wishes = after_restart(
      {volume(Wish::What::volume_in_file, 720.0), volume(Wish::What::volume_from_afar, 720.1)});
  EXPECT_EQ(wishes.day_volume(), kInFile);
  const Wishes negative = after_restart(
      {volume(Wish::What::volume_in_file, 720.0), volume(Wish::What::volume_at_station, -1.0)});
  EXPECT_EQ(negative.day_volume(), kInFile);
}

struct PauseRow {
  const char* name;
  Duration lasting;
  Duration by_uptime, by_wall;  ///< since it was asked for
  Duration left;
};
std::ostream& operator<<(std::ostream& out, const PauseRow& row) { return out << row.name; }
const PauseRow kPauses[] = {
    {"just_asked_for", 2h, 0s, 0s, 2h},
    {"half_over", 2h, 1h, 1h, 1h},
    {"a_second_before_its_end", 2h, 2h - 1s, 2h - 1s, 1s},
    {"at_its_end", 2h, 2h, 2h, 0s},
    {"over", 2h, 3h, 3h, 0s},
    {"wall_clock_jumped_ahead", 2h, 1h, 1000h, 1h},
    {"machine_was_off", 2h, 1min, 1h, 2h - 1min},
    {"wall_clock_went_back", 2h, 1h, -1000h, 1h},
    {"longer_than_any_pause", 1000h, 0s, 0s, 24h},
    {"negative", -1h, 0s, 0s, 0s},
};
class PauseTable : public testing::TestWithParam<PauseRow> {};
INSTANTIATE_TEST_SUITE_P(Rows, PauseTable, testing::ValuesIn(kPauses),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST_P(PauseTable, goes_on_after_a_restart) {
  const PauseRow& row = GetParam();
  const dosing::Stamp asked{kToday.lifetime - row.by_uptime, kToday.wall - row.by_wall};
  for (const auto what : {Wish::What::pause_at_station, Wish::What::pause_from_afar}) {
    const auto until = after_restart({pause(what, row.lasting, asked)}).paused_until();
    EXPECT_EQ(until.value_or(kNow) - kNow, row.left);
  }
}

TEST(Wishes, of_both_origins_last_as_long_as_the_later) {
  Wishes wishes = after_restart({});
  Effects effects;
  wishes.pause({kNow, kToday}, 2h, Origin::station, effects);
  wishes.pause({kNow, kToday}, 1h, Origin::afar, effects);
  EXPECT_EQ(*wishes.paused_until() - kNow, 2h);
  wishes.resume(kNow, Origin::afar, effects);
  EXPECT_EQ(*wishes.paused_until() - kNow, 2h);
  wishes.pause({kNow, kToday}, 5h, Origin::afar, effects);
  EXPECT_EQ(*wishes.paused_until() - kNow, 5h);
  wishes.resume(kNow, Origin::station, effects);
  EXPECT_FALSE(wishes.paused_until());
}

TEST(Wishes, are_stored_as_they_are_made_and_read_back_alike) {
  Wishes wishes = after_restart({});
  Effects effects;
  wishes.set_day_volume({kNow, kToday}, Millilitres{400.0}, Origin::station, effects);
  wishes.set_day_volume({kNow, kToday}, Millilitres{100.0}, Origin::afar, effects);
  wishes.pause({kNow, kToday}, 3h, Origin::afar, effects);
  std::vector<Wish> stored;
  for (const Effect& effect : effects) {
    if (const auto* store = std::get_if<StoreWish>(&effect)) {
      stored.push_back(store->wish);
    }
  }
  const Wishes again = after_restart(stored);
  EXPECT_EQ(again.day_volume().count(), 100.0);
  EXPECT_EQ(again.day_volume_at_station().count(), 400.0);
  EXPECT_EQ(*again.paused_until() - kNow, 3h);
}

TEST(Wishes, of_a_volume_that_is_no_whole_microlitre_outlive_a_restart) {
  // The ledger keeps whole microlitres, of the file's volume too.
  const Millilitres in_file{2000.0 / 3.0};
  Wishes wishes{in_file, {}, kToday, kNow};
  Effects effects;
  wishes.set_day_volume({kNow, kToday}, Millilitres{400.0 / 3.0}, Origin::station, effects);
  EXPECT_EQ(wishes.day_volume().count(), 133.333);
  wishes.set_day_volume({kNow, kToday}, Millilitres{100.0 / 3.0}, Origin::afar, effects);
  std::vector<Wish> stored;
  for (const Effect& effect : effects) {
    if (const auto* store = std::get_if<StoreWish>(&effect)) {
      stored.push_back(store->wish);
      stored.back().volume =
          Millilitres{static_cast<double>(std::llround(store->wish.volume.count() * 1000)) / 1000};
    }
  }
  const Wishes again{in_file, stored, kToday, kNow};
  EXPECT_EQ(again.day_volume().count(), 33.333);
  EXPECT_EQ(again.day_volume_at_station().count(), 133.333);
}

/// What a ledger keeps after the first so many of these were written.
std::vector<Wish> kept_after(std::vector<Wish> known, const Effects& effects, std::size_t rows) {
  for (std::size_t i = 0; i < rows; ++i) {
    const auto* store = std::get_if<StoreWish>(&effects[i]);
    const Wish::What what =
        store != nullptr ? store->wish.what : std::get<ForgetWish>(effects[i]).what;
    std::erase_if(known, [&](const Wish& wish) { return wish.what == what; });
    if (store != nullptr) {
      known.push_back(store->wish);
    }
  }
  return known;
}

// Killed at once: the rows are written one by one.
TEST(Wishes, a_volume_is_the_old_one_or_the_new_one_wherever_its_writing_ended) {
  const std::vector<std::vector<Wish>> before{
      {},
      {volume(Wish::What::volume_in_file, 720.0), volume(Wish::What::volume_at_station, 500.0)},
      {volume(Wish::What::volume_in_file, 720.0), volume(Wish::What::volume_at_station, 500.0),
       volume(Wish::What::volume_from_afar, 200.0)},
      {volume(Wish::What::volume_in_file, 700.0), volume(Wish::What::volume_at_station, 500.0),
       volume(Wish::What::volume_from_afar, 200.0)}};
  for (const std::vector<Wish>& known : before) {
    for (const double wanted : {0.0, 100.0, 300.0, 600.0}) {
      Wishes wishes = after_restart(known);
      const double old = wishes.day_volume().count();
      Effects effects;
      wishes.set_day_volume({kNow, kToday}, Millilitres{wanted}, Origin::station, effects);
      for (std::size_t rows = 0; rows <= effects.size(); ++rows) {
        const double then = after_restart(kept_after(known, effects, rows)).day_volume().count();
        EXPECT_TRUE(then == old || then == wanted)
            << old << " to " << wanted << " after " << rows << " rows: " << then;
      }
    }
  }
}

TEST(Wishes, are_all_stated_again_for_a_ledger_that_could_not_be_written) {
  Wishes wishes = after_restart({});
  Effects unwritten;
  wishes.set_day_volume({kNow, kToday}, Millilitres{400.0}, Origin::station, unwritten);
  wishes.set_day_volume({kNow, kToday}, Millilitres{100.0}, Origin::afar, unwritten);
  wishes.pause({kNow, kToday}, 3h, Origin::station, unwritten);
  Effects effects;
  wishes.restate({kNow + 1h, {kToday.lifetime + 1h, kToday.wall + 1h}}, effects);
  std::vector<Wish> stored;
  std::vector<Wish::What> forgotten;
  for (const Effect& effect : effects) {
    if (const auto* store = std::get_if<StoreWish>(&effect)) {
      stored.push_back(store->wish);
    } else if (const auto* forget = std::get_if<ForgetWish>(&effect)) {
      forgotten.push_back(forget->what);
    }
  }
  const Wishes again = after_restart(stored);
  EXPECT_EQ(again.day_volume().count(), 100.0);
  EXPECT_EQ(again.day_volume_at_station().count(), 400.0);
  EXPECT_EQ(*again.paused_until() - kNow, 2h);
  EXPECT_EQ(forgotten, ((std::vector<Wish::What>{Wish::What::service, Wish::What::away,
                                                 Wish::What::pause_from_afar})));
}

}  // namespace
}  // namespace limegate::station
