// The judge of what people are told, second by second: each promise is kept just inside its slack,
// and broken just outside. The world is a scenario of our own.

#include "rehearsal/news_judge.h"

#include <chrono>
#include <limits>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "rehearsal/scene.h"

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using testing::AllOf;
using testing::HasSubstr;
using Board = NewsJudge::Second::Board;

/// A world in which all is well until a test changes it.
class News : public testing::Test {
 protected:
  News() : judge_(settings()) {
    world_.program_runs = true;
    world_.ph = 8.1;
    world_.second_ph = 8.1;
    world_.temperature = 25.0;
    world_.waits_for_person = &waits_;
    restart();
  }
  static station::Settings settings() {
    station::Settings settings = plan(24h).settings;
    settings.second_ph = settings.ph;
    return settings;
  }
  /// What a course of seconds broke.
  std::string broken_in(Duration time) {
    const std::size_t before = verdicts_.lines().size();
    for (const Duration until = now_ + time; now_ < until;) {
      now_ += 1s;
      verdicts_.begin_second(now_);
      NewsJudge::Second shown = world_;
      // The last digit of a probe never stands still.
      const double digit = moves_ && now_ / 1s % 2 == 0 ? 0.001 : 0.0;
      for (auto* probe : {&shown.ph, &shown.second_ph, &shown.temperature}) {
        *probe = *probe ? std::optional{**probe + digit} : std::nullopt;
      }
      judge_.second(shown, verdicts_);
      if (now_ % 1min == 0s) {
        judge_.minute(given_, Millilitres{2000.0}, verdicts_);
      }
    }
    const auto& all = verdicts_.lines();
    return lines({all.begin() + static_cast<std::ptrdiff_t>(before), all.end()});
  }
  void alert(const std::string& id, const std::string& code = "long-") {
    judge_.told(now_, {code + id, id, {}});
  }
  void over(const std::string& id) { judge_.told(now_, {{}, {}, id}); }
  void restart() { judge_.restarted(now_); }
  void pulse(Duration lasting = 60s, NewsJudge::By by = NewsJudge::By::plan) {
    judge_.pulse(now_, lasting, by);
  }
  static auto says(Promise promise, const std::string& what) {
    return AllOf(HasSubstr(about(promise).sentence), HasSubstr(what));
  }

  NewsJudge judge_;
  NewsJudge::Second world_;
  std::vector<std::string> waits_;
  Millilitres given_{2000.0};
  Verdicts verdicts_;
  Duration now_{};
  bool moves_ = true;
};

TEST_F(News, a_hold_that_waits_for_a_person_is_an_alert_at_once) {
  waits_ = {"pump-stuck-on"};
  EXPECT_EQ(broken_in(4s), "");
  EXPECT_THAT(broken_in(1s), says(Promise::latch_told, "pump-stuck-on"));
  EXPECT_EQ(broken_in(1h), "") << "once is enough";
  waits_.emplace_back("record");
  EXPECT_THAT(broken_in(5s), says(Promise::latch_told, "record")) << "another one";
}

TEST_F(News, of_a_hold_that_is_told_stands_until_something_ends_it) {
  alert("rule-leak", "held-");
  waits_ = {"rule-leak"};
  EXPECT_EQ(broken_in(1h), "");
  restart();
  EXPECT_EQ(broken_in(1h), "") << "people go on seeing it";
  over("rule-leak");
  EXPECT_THAT(broken_in(1s), says(Promise::latch_told, "rule-leak")) << "and nobody released it";
}

TEST_F(News, of_something_else_is_not_that_of_a_hold) {
  judge_.told(now_, {{}, "rule-leak", {}});  // an information begins no alert
  alert("rule-leak-unknown");
  waits_ = {"rule-leak"};
  EXPECT_THAT(broken_in(5s), says(Promise::latch_told, "rule-leak"));
}

struct Lack {
  const char* name;
  std::optional<double> shown;
  const char* alert;
};
std::ostream& operator<<(std::ostream& out, const Lack& lack) { return out << lack.name; }
class Lacks : public News, public testing::WithParamInterface<Lack> {};
INSTANTIATE_TEST_SUITE_P(Of, Lacks,
                         testing::Values(Lack{"silent", std::nullopt, "ph-stale"},
                                         Lack{"no_number", std::numeric_limits<double>::quiet_NaN(),
                                              "ph-not-a-number"},
                                         Lack{"open_input", 7.0, "ph-implausible"}),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST_P(Lacks, a_probe_for_long_are_told) {
  world_.ph = GetParam().shown;
  EXPECT_EQ(broken_in(12min), "");
  EXPECT_THAT(broken_in(2s), HasSubstr(about(Promise::blind_told).sentence));
  restart();
  EXPECT_EQ(broken_in(12min), "") << "a start begins it anew";
  alert(GetParam().alert);
  EXPECT_EQ(broken_in(2h), "");
  over(GetParam().alert);
  EXPECT_THAT(broken_in(1s), HasSubstr(about(Promise::blind_told).sentence));
}

TEST_P(Lacks, the_second_probe_are_told_by_its_own_name) {
  world_.second_ph = GetParam().shown;
  alert(GetParam().alert);
  EXPECT_THAT(broken_in(13min), says(Promise::blind_told, "second-ph"));
}

TEST_F(News, a_probe_that_stands_still_is_told_after_its_own_time) {
  moves_ = false;
  EXPECT_EQ(broken_in(3h + 12min), "");
  EXPECT_THAT(broken_in(3s), says(Promise::blind_told, "ph-stuck"));
}

TEST_F(News, a_probe_whose_trouble_changes_counts_each_anew) {
  for (int i = 0; i < 10; ++i) {
    world_.temperature.reset();
    EXPECT_EQ(broken_in(8min), "");
    world_.temperature = 77.0;
    EXPECT_EQ(broken_in(8min), "");
  }
}

TEST_F(News, a_board_that_is_silent_for_long_is_told) {
  world_.board = Board::silent;
  EXPECT_EQ(broken_in(12min), "");
  EXPECT_THAT(broken_in(2s), says(Promise::outlet_told, "pump-unconfirmed"));
  world_.board = Board::late;
  EXPECT_EQ(broken_in(1h), "");
}

TEST_F(News, a_stirrer_without_a_rhythm_is_told) {
  world_.stirrer_told = false;
  EXPECT_EQ(broken_in(5h + 12min), "") << "two cycles of two hours, an hour, and the rest";
  EXPECT_THAT(broken_in(2s), says(Promise::stirrer_told, "stir-overdue"));
}

TEST_F(News, a_relay_that_never_picks_up_is_told_after_five_pulses) {
  for (int i = 0; i < 5; ++i) {
    pulse();
    EXPECT_EQ(broken_in(20min), "") << i;
  }
  pulse();  // after five of them
  EXPECT_THAT(broken_in(2s), says(Promise::relay_told, "pump-not-on"));
  world_.pump_relay_on = true;  // it picks up again
  over("pump-not-on");
  EXPECT_EQ(broken_in(1h), "");
}

TEST_F(News, a_relay_is_not_looked_at_in_a_short_pulse_nor_on_a_silent_board) {
  for (int i = 0; i < 10; ++i) {
    pulse(19s);
    EXPECT_EQ(broken_in(20min), "");
    pulse();
    world_.board = Board::late;
    EXPECT_EQ(broken_in(1s), "");
    world_.board = Board::answers;
    EXPECT_EQ(broken_in(20min), "");
    pulse();
    world_.pump_relay_on = true;
    EXPECT_EQ(broken_in(1s), "");
    world_.pump_relay_on = false;
    EXPECT_EQ(broken_in(20min), "");
  }
}

// A reef likes 22 to 29 degC (LIMITS).
TEST_F(News, water_that_is_too_cold_or_too_warm_is_told) {
  for (const double degrees : {21.9, 29.1}) {
    world_.temperature = degrees;
    EXPECT_EQ(broken_in(15min), "") << degrees;
    EXPECT_THAT(broken_in(2s), says(Promise::temperature_told, "temperature-unusual")) << degrees;
    world_.temperature = 25.0;
    EXPECT_EQ(broken_in(1h), "");
  }
  world_.temperature = 28.9;
  EXPECT_EQ(broken_in(1h), "");
}

TEST_F(News, a_row_that_the_disk_refused_is_told_at_once) {
  judge_.row_refused();
  EXPECT_EQ(broken_in(4s), "");
  EXPECT_THAT(broken_in(1s), says(Promise::disk_told, "ledger-not-writable"));
  alert("ledger-not-writable", "");
  EXPECT_EQ(broken_in(1s), "");
  judge_.row_refused();
  EXPECT_EQ(broken_in(1h), "") << "it stands";
}

TEST_F(News, a_disk_that_takes_long_for_row_after_row_is_told) {
  judge_.row_written(now_, 8s);
  EXPECT_EQ(broken_in(1h), "") << "one";
  judge_.row_written(now_, 7s);  // in time
  judge_.row_written(now_, 8s);
  EXPECT_EQ(broken_in(3min), "");
  judge_.row_written(now_, 8s);
  EXPECT_EQ(broken_in(1h), "") << "in three minutes";
  judge_.row_written(now_, 8s);
  EXPECT_EQ(broken_in(4s), "");
  EXPECT_THAT(broken_in(1s), says(Promise::disk_told, "disk-slow"));
}

TEST_F(News, two_days_of_far_too_little_are_told) {
  given_ = Millilitres{199.0};
  for (int h = 0; h < 25; ++h) {
    pulse();  // it is not silent
    world_.pump_relay_on = true;
    EXPECT_EQ(broken_in(1s), "");
    world_.pump_relay_on = false;
    EXPECT_EQ(broken_in(1h - 1s), "");
  }
  EXPECT_THAT(broken_in(2min), HasSubstr(about(Promise::shortfall_told).sentence));
}

TEST_F(News, far_too_little_is_told_by_any_word_of_dosing_since_it_began) {
  given_ = Millilitres{199.0};
  pulse();
  EXPECT_EQ(broken_in(2min), "");
  judge_.told(now_, {"dosing-below-plan", {}, {}});
  for (int h = 0; h < 40; ++h) {
    pulse(1s);
    EXPECT_EQ(broken_in(1h), "");
  }
}

}  // namespace
}  // namespace limegate::rehearsal
