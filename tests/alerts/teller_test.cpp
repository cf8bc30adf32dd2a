#include "alerts/teller.h"

#include <chrono>
#include <map>
#include <random>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace limegate::alerts {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using station::Event;
using station::Severity;
using testing::HasSubstr;

class Telling : public testing::Test {
 protected:
  void raise(const std::string& id, const std::string& station = "reef") {
    book_.take(station, Event{now_.stamp.wall, Severity::alert, id, "It is " + id + ".", id}, now_);
  }
  void end(const std::string& id, const std::string& station = "reef") {
    book_.take(station, Event{now_.stamp.wall, Severity::info, "over", "Over.", {}, id}, now_);
  }
  void pass(Duration time, Duration step = 1s) {
    for (const Duration until = now_.stamp.lifetime + time; now_.stamp.lifetime < until;) {
      now_.stamp.lifetime += step;
      now_.stamp.wall += step;
      if (auto message = teller_.tick(book_, now_)) {
        at_.push_back(now_.stamp.lifetime);
        messages_.push_back(*std::move(message));
      }
    }
  }
  /// The most within any such time.
  [[nodiscard]] std::size_t most_within(Duration time) const {
    std::size_t most = 0;
    for (std::size_t i = 0, first = 0; i < at_.size(); ++i) {
      while (at_[i] - at_[first] >= time) {
        ++first;
      }
      most = std::max(most, i - first + 1);
    }
    return most;
  }

  int ids_ = 0;
  When now_{{100h, WallTime{500000h}}, true};
  std::function<std::string()> new_id_ = [this] { return std::to_string(++ids_); };
  Book book_{new_id_};
  Teller teller_{{new_id_, [](const Record&) { return "It costs 7 mL."; }}};
  std::vector<Message> messages_;
  std::vector<Duration> at_;
};

TEST_F(Telling, names_the_cause_then_the_numbers_then_what_to_do) {
  raise("ph-stuck");
  raise("dosing-stopped");
  pass(2min);
  ASSERT_EQ(messages_.size(), 1U);
  const Message& message = messages_[0];
  EXPECT_THAT(message.subject, HasSubstr("reef: act today: It is ph-stuck."));
  const auto at = [&](const std::string& part) { return message.text.find(part); };
  EXPECT_LT(at("It is ph-stuck."), at("It costs 7 mL."));
  EXPECT_LT(at("It costs 7 mL."), at("What to do: "));
  EXPECT_LT(at("What to do: "), at("From it follows: It is dosing-stopped."));
  EXPECT_EQ(message.alerts.size(), 1U);
}

TEST_F(Telling, groups_what_comes_together_the_urgent_first) {
  raise("disk-slow");
  raise("ph-stuck", "frags");
  raise("pump-off-late");
  pass(3min);
  ASSERT_GE(messages_.size(), 1U);
  EXPECT_EQ(messages_[0].alerts.front().id, "pump-off-late");
  EXPECT_THAT(messages_[0].subject, HasSubstr("act now"));
  EXPECT_LT(at_[0] - 100h, 15s) << "what can't wait does not wait for others";
}

TEST_F(Telling, tells_a_return_once) {
  raise("ph-stuck");
  pass(2min);
  end("ph-stuck");
  pass(30min);
  ASSERT_EQ(messages_.size(), 2U);
  EXPECT_EQ(messages_[1].type, Message::Type::returned);
  EXPECT_THAT(messages_[1].text, HasSubstr("It is over."));
}

TEST_F(Telling, keeps_any_flood_below_its_bounds_and_loses_nothing) {
  std::mt19937 random{1};
  const std::vector<Kind>& all = kinds();
  for (int minute = 0; minute < 2 * 24 * 60; ++minute) {
    for (int i = 0; i < 5; ++i) {
      const Kind& kind = all[random() % (all.size() - 1)];
      const std::string station = "station-" + std::to_string(random() % 3);
      random() % 2 == 0 ? raise(std::string{kind.id}, station) : end(std::string{kind.id}, station);
    }
    pass(1min, 10s);
  }
  EXPECT_LT(most_within(10min), 10U);
  EXPECT_LT(most_within(24h), 30U);
  EXPECT_GT(messages_.size(), 30U);
  for (const Message& message : messages_) {
    EXPECT_LE(message.alerts.size(), 12U);
  }
}

TEST_F(Telling, tells_later_what_was_over_before_it_could_be_told) {
  for (int i = 0; i < 19; ++i) {  // what a calm day has room for, and one
    raise("rule-" + std::to_string(i));
    pass(12min, 10s);
  }
  raise("rule-x");
  pass(3h, 10s);
  end("rule-x");
  pass(48h, 10s);
  const auto named = std::count_if(messages_.begin(), messages_.end(), [](const Message& message) {
    return std::any_of(message.alerts.begin(), message.alerts.end(),
                       [](const Message::Item& item) { return item.id == "rule-x"; });
  });
  EXPECT_EQ(named, 1) << "as over, once";
}

TEST_F(Telling, tells_what_was_over_within_the_time_that_it_gathers) {
  raise("ph-stuck");
  pass(30s);
  end("ph-stuck");
  pass(30min);
  ASSERT_EQ(messages_.size(), 1U);
  EXPECT_THAT(messages_[0].text, HasSubstr("It is over."));
  pass(48h, 10s);
  EXPECT_EQ(messages_.size(), 1U);
}

TEST_F(Telling, keeps_no_news_back_for_what_is_said_again) {
  int change = 0;
  // Nobody looks, and what they say changes all the time.
  const auto go_on = [&](Duration time) {
    for (Duration passed{}; passed < time; passed += 3min, ++change) {
      const std::string id = "rule-" + std::to_string(change % 20);
      book_.take(
          "reef",
          Event{now_.stamp.wall, Severity::alert, id, "It is " + std::to_string(change) + ".", id},
          now_);
      pass(3min, 10s);
    }
  };
  go_on(96h);
  for (int i = 0; i < 4; ++i) {
    const std::string fresh = "rule-fresh-" + std::to_string(i);
    const std::size_t before = messages_.size();
    raise(fresh);
    go_on(15min);
    ASSERT_GT(messages_.size(), before) << fresh;
    EXPECT_EQ(messages_.back().alerts.front().id, fresh) << "the news first";
    go_on(3h);
  }
}

TEST_F(Telling, of_a_longer_life_counts_its_messages_from_here_on) {
  const std::vector<dosing::Stamp> later(18, {now_.stamp.lifetime + 500h, now_.stamp.wall});
  teller_.know(later, now_);
  raise("ph-stuck");
  pass(25h, 10s);
  EXPECT_GE(messages_.size(), 1U);
}

TEST_F(Telling, lets_the_urgent_pass_while_others_flood) {
  for (int i = 0; i < 24 * 60; ++i) {
    const std::string rule = "rule-" + std::to_string(i % 40);
    i / 40 % 2 == 0 ? raise(rule) : end(rule);
    pass(1min, 10s);
  }
  const std::size_t before = messages_.size();
  raise("pump-stuck-on");
  pass(15s);
  ASSERT_EQ(messages_.size(), before + 1);
  EXPECT_EQ(messages_.back().alerts.front().id, "pump-stuck-on");
}

TEST_F(Telling, lets_what_was_never_told_pass_while_something_urgent_changes_all_day) {
  for (int minute = 0; minute < 20 * 60; ++minute) {
    book_.take("reef",
               Event{now_.stamp.wall, Severity::alert, "temperature-unusual",
                     "It is " + std::to_string(minute) + ".", "temperature-unusual"},
               now_);
    pass(1min, 10s);
  }
  EXPECT_EQ(messages_.size(), Teller::kUrgentAgain.a_day);
  raise("pump-stuck-on");
  pass(20s);
  ASSERT_EQ(messages_.size(), Teller::kUrgentAgain.a_day + 1);
  EXPECT_THAT(messages_.back().subject, HasSubstr("It is pump-stuck-on."));
}

TEST_F(Telling, a_program_that_sees_everything_at_once_from_afar_silences_nothing) {
  raise("dosing-stopped", "frags");
  raise("pump-off-late");
  for (int i = 0; i < 14 * 24 * 720; ++i) {
    if (i % 17280 == 0) {  // once a day, and until somebody has seen it
      book_.take("frags", Event{now_.stamp.wall, Severity::alert, "dosing-below-plan", "Less."},
                 now_);
    }
    for (const char* station : {"reef", "frags"}) {
      (void)book_.acknowledge(station, "", {station::Origin::afar, "a hub", now_.stamp});
    }
    pass(5s, 5s);
  }
  std::map<std::string, int> told;
  for (const Message& message : messages_) {
    for (const Message::Item& item : message.alerts) {
      ++told[item.id];
    }
  }
  EXPECT_GE(told["pump-off-late"], 13);
  EXPECT_GE(told["dosing-stopped"], 13);
  EXPECT_GE(told["dosing-below-plan"], 13);
  EXPECT_LE(messages_.size(), 45U);
}

TEST_F(Telling, knows_what_an_earlier_run_sent) {
  teller_.know(std::vector<dosing::Stamp>(Teller::kUrgent.a_day, now_.stamp), now_);
  raise("pump-stuck-on");
  pass(5min);
  EXPECT_TRUE(messages_.empty());
  pass(24h);
  EXPECT_FALSE(messages_.empty());
}

TEST_F(Telling, a_latched_hold_says_what_it_costs_each_time) {
  book_.take("reef",
             Event{now_.stamp.wall, Severity::alert, "held-ph-second-ceiling", "pH 8.61.",
                   "ph-second-ceiling"},
             now_);
  pass(14 * 24h, 1min);
  EXPECT_LE(messages_.size(), 20U);
  EXPECT_GE(messages_.size(), 14U);
  for (const Message& message : messages_) {
    EXPECT_THAT(message.text, HasSubstr("It costs 7 mL."));
  }
}

TEST_F(Telling, a_test_message_says_that_nothing_is_wrong) {
  const Message message = teller_.test(now_);
  EXPECT_THAT(message.text, HasSubstr("Nothing is wrong"));
  EXPECT_TRUE(message.alerts.empty());
}

}  // namespace
}  // namespace limegate::alerts
