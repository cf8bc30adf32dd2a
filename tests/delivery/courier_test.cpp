// Messages are kept, brought in order, and what can't be brought is told: with made-up ways and a
// clock that stands still until it is moved.

#include "delivery/courier.h"

#include <chrono>
#include <map>
#include <memory>
#include <mutex>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "alerts/cloud_event.h"
#include "delivery/ways.h"
#include "support/program.h"

namespace limegate::delivery {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Came = Attempt::Came;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

class StandingClock : public ports::Clock {
 public:
  [[nodiscard]] Moment now() const override { return now_; }
  void pass(Duration time) {
    now_.mono += time;
    now_.wall += time;
  }

 private:
  Moment now_{Instant{100h}, WallTime{500000h}, true};
};

/// A message of an alert that stands, or (under an id of its own) that it is over.
std::string event_of(const std::string& id, alerts::Urgency urgency = alerts::Urgency::act_today,
                     const std::string& end_id = "") {
  const bool over = !end_id.empty();
  alerts::Message message{over ? end_id : id, WallTime{500000h},
                          over ? alerts::Message::Type::returned : alerts::Message::Type::raised};
  alerts::Message::Item item;
  item.station = "reef";
  item.id = "ph-stuck";
  item.number = "number-of-" + id;
  item.state = alerts::name_of(over ? alerts::State::returned_unacknowledged
                                    : alerts::State::unacknowledged);
  item.urgency = urgency;
  item.sentence = "It is " + id + ".";
  message.alerts = {item};
  alerts::write_for_people(message);
  return alerts::cloud_event(message, "/made-up");
}

alerts::Destination to(const std::string& name, Duration after = {},
                       alerts::Urgency least = alerts::Urgency::when_you_can) {
  return {name, after, least, alerts::Webhook{"https://" + name + ".example"}};
}

class Delivering : public testing::Test {
 protected:
  void begin(std::vector<alerts::Destination> destinations) {
    settings_.destinations = std::move(destinations);
    restart();
  }
  void restart() {
    courier_.reset();
    queue_.reset();
    auto opened = journal::DeliveryQueue::open(folder_.path() + "/queue.db");
    ASSERT_TRUE(opened);
    queue_ = std::make_unique<journal::DeliveryQueue>(std::move(*opened));
    courier_ = std::make_unique<Courier>(
        settings_,
        Courier::Parts{
            loop_, clock_, *queue_, "/made-up-delivery",
            [this](const std::string& /*after*/) -> std::optional<Courier::Parts::News> {
              if (!daemon_answers_) {
                return std::nullopt;
              }
              return Courier::Parts::News{events_, unseen_, unseen_.empty() && !seen_stands_};
            },
            [this] { return end_; },
            [this](const alerts::Destination& where, const Envelope& envelope, const std::string&) {
              const std::lock_guard lock{mutex_};
              const auto answer = answers_.find(where.name);
              Attempt attempt =
                  answer == answers_.end() ? Attempt{Came::delivered, "fine"} : answer->second;
              ++attempts_[where.name];
              if (attempt.came == Came::delivered) {
                arrived_[where.name].push_back(envelope.numbers.empty() ? envelope.subject
                                                                        : envelope.id);
                subjects_[where.name].push_back(envelope.subject);
              }
              return attempt;
            },
            [this](const std::string& line, bool) { log_.push_back(line); },
            [this](const station::Event& event) {
              told_daemon_.push_back(event.code + " " + event.begins + event.ends);
              return daemon_takes_;
            }});
  }
  void pass(Duration time, Duration step = 1s) {
    for (Duration gone{}; gone < time; gone += step) {
      clock_.pass(step);
      courier_->tick();
      settle();
    }
  }
  /// What is under way ends.
  void settle() {
    while (courier_->busy()) {
      std::this_thread::sleep_for(100us);
      loop_.restart();
      loop_.poll();
    }
  }
  void say(const std::string& id, alerts::Urgency urgency = alerts::Urgency::act_today) {
    events_.push_back(event_of(id, urgency));
    unseen_.insert("number-of-" + id);
  }
  void see(const std::string& id) { unseen_.erase("number-of-" + id); }

  test::TempDir folder_;
  boost::asio::io_context loop_{1};
  StandingClock clock_;
  alerts::Delivery settings_;
  std::unique_ptr<journal::DeliveryQueue> queue_;
  bool daemon_answers_ = true;
  std::vector<std::string> events_;
  std::set<std::string> unseen_;
  bool seen_stands_ = false, daemon_takes_ = false;
  std::vector<std::string> told_daemon_;
  std::optional<Watch::End> end_;
  std::mutex mutex_;
  std::map<std::string, Attempt> answers_;
  std::map<std::string, int> attempts_;
  std::map<std::string, std::vector<std::string>> arrived_, subjects_;
  std::vector<std::string> log_;
  std::unique_ptr<Courier> courier_;
};

TEST(Ways, of_the_network_have_work_by_a_heartbeat_alone_and_programs_do_not) {
  alerts::Delivery delivery;
  delivery.destinations = {{"siren", {}, {}, alerts::Program{"/usr/bin/siren"}}};
  EXPECT_FALSE(has_work(only(Ways::network, delivery)));
  EXPECT_TRUE(has_work(only(Ways::programs, delivery)));
  delivery.heartbeat_url = "https://beat.example.org/";
  EXPECT_TRUE(has_work(only(Ways::network, delivery)));
  delivery.destinations.clear();
  EXPECT_FALSE(has_work(only(Ways::programs, delivery)));
}

TEST_F(Delivering, brings_each_message_once_and_in_order) {
  begin({to("mail"), to("hook")});
  say("a");
  say("b");
  pass(20s);
  say("c");
  pass(20s);
  EXPECT_THAT(arrived_["mail"], ElementsAre("a", "b", "c"));
  EXPECT_THAT(arrived_["hook"], ElementsAre("a", "b", "c"));
}

TEST_F(Delivering, knows_over_a_restart_what_it_has_brought) {
  begin({to("mail")});
  say("a");
  pass(10s);
  for (int i = 0; i < 3; ++i) {
    restart();
    pass(10s);
  }
  say("b");
  pass(10s);
  EXPECT_THAT(arrived_["mail"], ElementsAre("a", "b"));
}

TEST_F(Delivering, tries_again_with_more_and_more_patience_and_loses_nothing) {
  begin({to("mail"), to("hook")});
  answers_["mail"] = {Came::not_now, "no route"};
  say("a");
  pass(10min);
  EXPECT_THAT(arrived_["hook"], ElementsAre("a")) << "one way does not wait for another";
  EXPECT_GE(attempts_["mail"], 4);
  EXPECT_LE(attempts_["mail"], 8);
  restart();
  say("b");
  answers_.erase("mail");
  pass(1h, 10s);
  EXPECT_THAT(arrived_["mail"], ElementsAre("a", "b"));
}

TEST_F(Delivering, waits_as_long_as_the_receiver_asked_for) {
  begin({to("hook")});
  answers_["hook"] = {Came::not_now, "answers 503", 40min};
  say("a");
  pass(39min, 10s);
  EXPECT_EQ(attempts_["hook"], 1);
  answers_.erase("hook");
  pass(3min, 10s);
  EXPECT_THAT(arrived_["hook"], Contains("a"));
}

TEST_F(Delivering, what_fails_for_long_is_told_on_the_other_ways_and_when_it_works_again) {
  begin({to("mail"), to("hook")});
  answers_["mail"] = {Came::not_now, "it refuses user and password (535)"};
  say("a");
  pass(2h, 10s);
  EXPECT_THAT(subjects_["hook"], Contains(HasSubstr("Messages have not reached mail")));
  answers_.erase("mail");
  pass(2h, 10s);
  EXPECT_THAT(subjects_["hook"], Contains(HasSubstr("over")));
  EXPECT_THAT(arrived_["mail"], Contains("a"));
}

TEST_F(Delivering, a_message_that_is_refused_as_such_does_not_block_the_next) {
  begin({to("hook")});
  answers_["hook"] = {Came::never, "answers 413"};
  say("a");
  pass(20min, 10s);
  say("b");
  pass(4s);
  answers_.erase("hook");
  pass(1h, 10s);
  EXPECT_THAT(arrived_["hook"], Contains("b"));
  EXPECT_THAT(arrived_["hook"], testing::Not(Contains("a")));
  EXPECT_THAT(subjects_["hook"], Contains(HasSubstr("given up")));
}

TEST_F(Delivering, escalates_only_what_nobody_has_seen) {
  begin({to("mail"), to("siren", 30min)});
  say("a");
  say("b");
  pass(29min, 10s);
  EXPECT_THAT(arrived_["siren"], IsEmpty());
  see("a");
  pass(2min, 10s);
  EXPECT_THAT(arrived_["siren"], ElementsAre("b"));
}

TEST_F(Delivering, whom_an_alert_was_escalated_to_hears_that_it_is_over) {
  begin({to("mail"), to("siren", 30min)});
  const auto over = [&](const std::string& id) {
    see(id);
    events_.push_back(event_of(id, alerts::Urgency::act_today, id + "-is-over"));
  };
  say("a");
  pass(31min, 10s);
  restart();  // it knows over a restart, too
  over("a");
  pass(1min, 10s);
  EXPECT_EQ(subjects_["siren"].size(), 2U) << "the alert and its end";
  say("b");
  pass(10min, 10s);
  over("b");
  pass(60min, 10s);
  EXPECT_EQ(subjects_["siren"].size(), 2U) << "nothing of what it never heard of";
  EXPECT_EQ(subjects_["mail"].size(), 4U);
}

TEST_F(Delivering, escalates_all_while_the_daemon_is_silent) {
  begin({to("siren", 30min)});
  say("a");
  pass(1min, 10s);
  see("a");
  pass(1min, 10s);
  daemon_answers_ = false;
  pass(40min, 10s);
  EXPECT_THAT(arrived_["siren"], Contains("a"));
}

TEST_F(Delivering, keeps_back_what_is_less_urgent_than_a_destination_wants) {
  begin({to("siren", {}, alerts::Urgency::act_now), to("mail", {}, alerts::Urgency::act_today)});
  say("calm", alerts::Urgency::when_you_can);
  say("today", alerts::Urgency::act_today);
  say("now", alerts::Urgency::act_now);
  pass(20s);
  EXPECT_THAT(arrived_["siren"], ElementsAre("now"));
  EXPECT_THAT(arrived_["mail"], ElementsAre("today", "now"));
}

TEST_F(Delivering, a_test_goes_everywhere_at_once) {
  begin({to("siren", 30min, alerts::Urgency::act_now)});
  alerts::Message message{"t", WallTime{500000h}, alerts::Message::Type::test};
  alerts::write_for_people(message);
  events_.push_back(alerts::cloud_event(message, "/made-up"));
  pass(10s);
  EXPECT_THAT(subjects_["siren"], ElementsAre(HasSubstr("test message")));
  EXPECT_THAT(journal::DeliveryQueue::outcome_of(folder_.path() + "/queue.db", "t"),
              ElementsAre("siren: delivered, fine"));
}

TEST_F(Delivering, tells_that_the_daemon_is_silent_within_two_minutes_and_that_it_answers) {
  begin({to("mail")});
  pass(10s);
  daemon_answers_ = false;
  pass(59s);
  EXPECT_THAT(subjects_["mail"], IsEmpty());
  pass(31s);
  EXPECT_THAT(subjects_["mail"], ElementsAre(HasSubstr("act now: limegate does not answer")));
  pass(30min, 10s);
  EXPECT_EQ(subjects_["mail"].size(), 1U);
  daemon_answers_ = true;
  pass(3min);
  EXPECT_THAT(subjects_["mail"].back(), HasSubstr("over"));
}

TEST_F(Delivering, tells_a_refused_config_a_watchdog_and_a_crash_loop_once_each) {
  begin({to("mail")});
  end_ = Watch::End{"1", "success", "0"};
  pass(10s);
  end_ = Watch::End{"2", "exit-code", "2"};
  daemon_answers_ = false;
  pass(30s);
  EXPECT_THAT(subjects_["mail"], ElementsAre(HasSubstr("refuses its config")));
  pass(5min);
  EXPECT_EQ(subjects_["mail"].size(), 1U) << "that it is silent follows from it";
  daemon_answers_ = true;
  pass(5min);
  end_ = Watch::End{"3", "watchdog", "KILL"};
  pass(2min);
  EXPECT_THAT(subjects_["mail"].back(), HasSubstr("watchdog"));
  const std::size_t before = subjects_["mail"].size();
  for (int i = 0; i < 20; ++i) {
    end_ = Watch::End{"c" + std::to_string(i), "signal", "SEGV"};
    pass(10s);
  }
  pass(2min);
  std::size_t crashes = 0;
  for (std::size_t n = before; n < subjects_["mail"].size(); ++n) {
    crashes += subjects_["mail"][n].find("again and again") != std::string::npos ? 1U : 0U;
  }
  EXPECT_EQ(crashes, 1U);
}

TEST_F(Delivering, says_nothing_of_an_end_before_it_began) {
  end_ = Watch::End{"1", "watchdog", "KILL"};
  begin({to("mail")});
  pass(3min);
  EXPECT_THAT(subjects_["mail"], IsEmpty());
}

TEST_F(Delivering, the_nightly_line_comes_once_a_day_and_only_if_all_is_well) {
  settings_.all_is_well_at = 8h;
  begin({to("mail")});
  pass(72h, 5min);
  EXPECT_GE(subjects_["mail"].size(), 2U);
  EXPECT_LE(subjects_["mail"].size(), 3U);
  EXPECT_THAT(subjects_["mail"], testing::Each(HasSubstr("all is well")));
  unseen_.insert("something");
  const std::size_t before = subjects_["mail"].size();
  pass(48h, 5min);
  EXPECT_EQ(subjects_["mail"].size(), before);
  unseen_.clear();
  seen_stands_ = true;
  pass(48h, 5min);
  EXPECT_EQ(subjects_["mail"].size(), before) << "seen is not mended";
}

TEST_F(Delivering, a_queue_that_was_lost_brings_only_what_nobody_has_seen) {
  for (const char* id : {"a", "b", "c", "d"}) {
    say(id);
  }
  see("a");
  see("c");
  begin({to("mail")});
  pass(10s);
  EXPECT_THAT(arrived_["mail"], ElementsAre("b", "d"));
  say("e");
  see("e");  // at once
  pass(10s);
  EXPECT_THAT(arrived_["mail"], ElementsAre("b", "d", "e")) << "news is brought, seen or not";
}

TEST_F(Delivering, what_is_none_of_ours_is_left_out) {
  begin({to("mail")});
  for (const char* text : {"", "{}", "[]", "null", R"({"id":"x"})", R"({"data":[]})"}) {
    events_.emplace_back(text);
  }
  say("a");
  pass(10s);
  EXPECT_THAT(arrived_["mail"], ElementsAre("a"));
}

TEST_F(Delivering, a_damaged_queue_is_set_aside_and_begun_anew) {
  begin({to("mail")});
  pass(5s);
  courier_.reset();
  queue_.reset();
  test::write_file(folder_.path() + "/queue.db", std::string(20000, 'x'));
  restart();
  say("a");
  pass(10s);
  EXPECT_THAT(arrived_["mail"], ElementsAre("a"));
}

/// Another program keeps the file from being written, as a full or read-only disk does.
class Locked {
 public:
  explicit Locked(const std::string& path) {
    auto opened = journal::Database::open(path, journal::Creating::no, journal::Sync::normal);
    database_ = std::make_unique<journal::Database>(std::move(opened).value());
    EXPECT_TRUE(database_->execute("BEGIN IMMEDIATE"));
  }

 private:
  std::unique_ptr<journal::Database> database_;
};

TEST_F(Delivering, a_disk_that_takes_nothing_keeps_no_message_back_and_repeats_none) {
  begin({to("mail"), to("hook")});
  answers_["mail"] = {Came::not_now, "no route"};
  say("a");
  pass(6s);
  {
    const Locked locked{folder_.path() + "/queue.db"};
    answers_.erase("mail");
    say("b");
    pass(20s, 5s);
    EXPECT_THAT(arrived_["mail"], ElementsAre("a", "b"));
    EXPECT_THAT(arrived_["hook"], ElementsAre("a", "b"));
  }
  pass(10s);
  restart();
  say("c");
  pass(10s);
  EXPECT_THAT(arrived_["mail"], ElementsAre("a", "b", "c"));
  EXPECT_THAT(arrived_["hook"], ElementsAre("a", "b", "c"));
}

TEST_F(Delivering, what_fails_for_long_is_told_though_the_receiver_asks_for_a_day) {
  begin({to("mail"), to("hook")});
  answers_["hook"] = {Came::not_now, "answers 503", 24h};
  say("a");
  pass(33min, 10s);
  EXPECT_THAT(subjects_["mail"], Contains(HasSubstr("Messages have not reached hook")));
}

TEST_F(Delivering, what_fails_for_long_is_told_on_a_way_that_waits_for_somebody_to_see) {
  begin({to("mail"), to("hook", 30min)});
  answers_["mail"] = {Came::not_now, "it refuses user and password (535)"};
  pass(10s);
  say("a");
  see("a");
  pass(2h, 10s);
  EXPECT_THAT(subjects_["hook"], Contains(HasSubstr("Messages have not reached mail")));
}

TEST_F(Delivering, what_it_finds_out_goes_into_the_daemons_book_while_that_answers) {
  daemon_takes_ = true;
  begin({to("mail"), to("hook")});
  answers_["mail"] = {Came::not_now, "it refuses user and password (535)"};
  pass(10s);
  say("a");
  pass(100min, 10s);
  EXPECT_THAT(told_daemon_, ElementsAre("delivery-stuck delivery-stuck-mail",
                                        "delivery-stuck delivery-stuck-mail"))
      << "again after an hour: it may have been started anew";
  EXPECT_THAT(subjects_["hook"], Not(Contains(HasSubstr("have not reached")))) << "that is its";
  answers_["mail"] = {Came::delivered, "fine"};
  pass(30min, 10s);
  EXPECT_EQ(told_daemon_.back(), "delivery-works delivery-stuck-mail");
}

TEST_F(Delivering, what_it_finds_out_waits_for_a_daemon_that_comes_back_within_minutes) {
  daemon_takes_ = true;
  begin({to("mail")});
  end_ = Watch::End{"1", "success", "0"};
  pass(10s);
  daemon_answers_ = false;
  end_ = Watch::End{"2", "watchdog", "KILL"};
  pass(30s);
  EXPECT_THAT(told_daemon_, IsEmpty());
  daemon_answers_ = true;
  pass(10s);
  EXPECT_THAT(told_daemon_, ElementsAre("daemon-watchdog "));
  daemon_answers_ = false;
  end_ = Watch::End{"3", "watchdog", "KILL"};
  pass(10min, 10s);
  EXPECT_THAT(subjects_["mail"], Contains(HasSubstr("hung"))) << "else it says so itself";
}

TEST_F(Delivering, messages_that_are_refused_as_such_hold_up_the_next_for_minutes_only) {
  begin({to("hook")});
  answers_["hook"] = {Came::never, "answers 400"};
  for (const char* id : {"a", "b", "c", "d"}) {
    say(id);
  }
  pass(30min, 10s);
  EXPECT_EQ(queue_->count_waiting("hook").value_or(-1), 0);
}

TEST_F(Delivering, brings_what_waited_within_minutes_once_the_way_works_again) {
  begin({to("mail")});
  answers_["mail"] = {Came::not_now, "no route"};
  say("a");
  pass(12h, 10s);
  answers_.erase("mail");
  pass(13min, 10s);
  EXPECT_THAT(arrived_["mail"], Contains("a"));
}

TEST_F(Delivering, tells_the_first_end_that_there_ever_was) {
  begin({to("mail")});
  pass(1min);
  end_ = Watch::End{"1", "watchdog", "KILL"};
  pass(2min);
  EXPECT_THAT(subjects_["mail"], Contains(HasSubstr("watchdog")));
}

TEST_F(Delivering, what_waits_is_bounded_and_that_is_said) {
  begin({to("mail"), to("hook")});
  answers_["mail"] = {Came::not_now, "no route"};
  for (int i = 0; i < 600; ++i) {
    say("m" + std::to_string(i));
  }
  pass(5s);
  EXPECT_EQ(queue_->count_waiting("mail").value(), journal::DeliveryQueue::kWaitingMax);
  const auto next = queue_->next("mail");
  ASSERT_TRUE(next);
  EXPECT_EQ(next->id, "m100") << "the oldest go first";
  events_.clear();  // the daemon hands out what is newer
  pass(40min, 10s);
  EXPECT_THAT(log_, Contains(HasSubstr("the oldest are given up")));
}

}  // namespace
}  // namespace limegate::delivery
