// An alert's life, after IEC 62682 / ISA-18.2 (terms and states; no conformance is claimed).

#include "alerts/book.h"

#include <chrono>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "alerts/record_json.h"

namespace limegate::alerts {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using station::Event;
using station::Origin;
using station::Severity;
using testing::ElementsAre;
using testing::IsEmpty;

class Life : public testing::Test {
 protected:
  void pass(Duration time) {
    now_.stamp.lifetime += time;
    now_.stamp.wall += time;
    book_.tick(now_);
  }
  void raise(const std::string& id, const std::string& sentence = "So it is.",
             const std::string& code = "") {
    book_.take("reef",
               Event{now_.stamp.wall, Severity::alert, code.empty() ? id : code, sentence, id},
               now_);
  }
  /// One that lasts until somebody has seen it.
  void note(const std::string& id) {
    book_.take("reef", Event{now_.stamp.wall, Severity::alert, id, "So it was."}, now_);
  }
  void end(const std::string& id) {
    book_.take("reef", Event{now_.stamp.wall, Severity::info, "over", "It is over.", {}, id}, now_);
  }
  void see(const std::string& id, Origin origin = Origin::station) {
    EXPECT_EQ(book_.acknowledge("reef", id, {origin, "keeper", now_.stamp}), 1U);
  }
  /// Ids that are due; they count as told.
  std::vector<std::string> told() {
    std::vector<std::string> ids, numbers;
    for (const Record* record : book_.due(now_)) {
      ids.push_back(record->id);
      numbers.push_back(record->number);
    }
    book_.told(numbers, now_);
    return ids;
  }
  std::string state(const std::string& id) {
    for (const station::Alert& alert : book_.shown("reef")) {
      if (alert.id == id) {
        return alert.state;
      }
    }
    return "none";
  }
  /// As it is after the ledger was read by another run.
  void restart() {
    Book later{[this] { return std::to_string(++numbers_); }};
    std::vector<Record> kept;
    for (const Record& record : book_.records()) {
      kept.push_back(record_of(json_of(record)).value());
    }
    later.know(kept, now_);
    book_ = std::move(later);
  }

  int numbers_ = 0;
  When now_{{100h, WallTime{500000h}}, true};
  Book book_{[this] { return std::to_string(++numbers_); }};
};

TEST_F(Life, goes_through_the_states) {
  EXPECT_EQ(state("ph-stale"), "none");
  raise("ph-stale");
  EXPECT_EQ(state("ph-stale"), "unacknowledged");
  see("ph-stale");
  EXPECT_EQ(state("ph-stale"), "acknowledged");
  end("ph-stale");
  EXPECT_EQ(state("ph-stale"), "none");
  raise("ph-stale");
  EXPECT_THAT(told(), ElementsAre("ph-stale"));
  end("ph-stale");
  EXPECT_EQ(state("ph-stale"), "returned-unacknowledged");
  see("ph-stale");
  EXPECT_EQ(state("ph-stale"), "none");
}

TEST_F(Life, is_told_at_first_after_an_hour_after_six_and_daily) {
  raise("ph-stale");
  EXPECT_THAT(told(), ElementsAre("ph-stale"));
  const Duration due[] = {1h, 5h, 24h, 24h, 24h};
  for (const Duration after : due) {
    pass(after - 1s);
    EXPECT_THAT(told(), IsEmpty());
    pass(1s);
    EXPECT_THAT(told(), ElementsAre("ph-stale"));
  }
}

TEST_F(Life, seen_at_the_station_it_is_quiet_until_it_changes) {
  raise("dosing-stopped", "6 h.");
  EXPECT_THAT(told(), ElementsAre("dosing-stopped"));
  see("dosing-stopped");
  pass(40h);
  EXPECT_THAT(told(), IsEmpty());
  raise("dosing-stopped", "48 h.");
  EXPECT_THAT(told(), ElementsAre("dosing-stopped"));
  EXPECT_EQ(state("dosing-stopped"), "unacknowledged");
}

TEST_F(Life, seen_from_afar_it_is_quiet_for_a_day_whatever_changes) {
  raise("dosing-stopped", "6 h.");
  EXPECT_THAT(told(), ElementsAre("dosing-stopped"));
  see("dosing-stopped", Origin::afar);
  pass(23h);
  raise("dosing-stopped", "24 h.");
  EXPECT_THAT(told(), IsEmpty());
  pass(1h);
  EXPECT_THAT(told(), ElementsAre("dosing-stopped"));
  EXPECT_EQ(state("dosing-stopped"), "unacknowledged");
}

TEST_F(Life, an_automation_that_sees_everything_cannot_keep_it_quiet) {
  raise("dosing-stopped");
  int messages = 0;
  for (int hour = 0; hour < 14 * 24; ++hour) {
    messages += static_cast<int>(told().size());
    (void)book_.acknowledge("reef", "", {Origin::afar, "MQTT", now_.stamp});
    pass(1h);
  }
  EXPECT_GE(messages, 13);
}

TEST_F(Life, what_was_seen_at_the_station_is_not_taken_back_from_afar) {
  raise("dosing-stopped");
  EXPECT_THAT(told(), ElementsAre("dosing-stopped"));
  see("dosing-stopped");
  (void)book_.acknowledge("reef", "dosing-stopped", {Origin::afar, "MQTT", now_.stamp});
  pass(48h);
  EXPECT_THAT(told(), IsEmpty());
}

TEST_F(Life, a_latched_hold_comes_back_every_third_day_whatever_was_said) {
  raise("ph-second-ceiling", "pH 8.61.", "held-ph-second-ceiling");
  EXPECT_THAT(told(), ElementsAre("ph-second-ceiling"));
  see("ph-second-ceiling");
  EXPECT_EQ(book_.shelve("reef", "ph-second-ceiling",
                         {now_.stamp, Book::kShelfMax, "keeper", "on holiday"}),
            "");
  pass(72h - 1s);
  EXPECT_THAT(told(), IsEmpty());
  pass(1s);
  EXPECT_THAT(told(), ElementsAre("ph-second-ceiling"));
  pass(72h);
  EXPECT_THAT(told(), ElementsAre("ph-second-ceiling"));
}

TEST_F(Life, a_latched_hold_of_fourteen_days_unseen_is_at_most_twenty_messages) {
  raise("ph-second-ceiling", "pH 8.61.", "held-ph-second-ceiling");
  int messages = 0;
  for (int minute = 0; minute < 14 * 24 * 60; ++minute) {
    messages += static_cast<int>(told().size());
    pass(1min);
  }
  EXPECT_LE(messages, 20);
  EXPECT_GE(messages, 14);
}

TEST_F(Life, a_shelf_keeps_quiet_for_its_time_and_says_who_and_why) {
  raise("ph-stale");
  EXPECT_THAT(told(), ElementsAre("ph-stale"));
  EXPECT_EQ(book_.shelve("reef", "ph-stale", {now_.stamp, 2h, "keeper", "cleaning"}), "");
  EXPECT_EQ(state("ph-stale"), "shelved");
  EXPECT_EQ(book_.shown("reef").at(0).shelved_by, "keeper");
  EXPECT_EQ(book_.shown("reef").at(0).shelved_because, "cleaning");
  pass(2h - 1s);
  EXPECT_THAT(told(), IsEmpty());
  pass(1s);
  EXPECT_THAT(told(), ElementsAre("ph-stale"));
  EXPECT_EQ(state("ph-stale"), "unacknowledged");
}

TEST_F(Life, a_shelf_ends_with_what_was_shelved) {
  raise("ph-stale");
  EXPECT_THAT(told(), ElementsAre("ph-stale"));
  EXPECT_EQ(book_.shelve("reef", "ph-stale", {now_.stamp, 100h, "keeper", "new probe"}), "");
  pass(1h);
  end("ph-stale");
  pass(1h);
  (void)told();
  pass(1h);
  raise("ph-stale");
  EXPECT_THAT(told(), ElementsAre("ph-stale")) << "another matter than the one that was shelved";
}

TEST_F(Life, a_shelf_has_an_end_and_a_reason) {
  raise("ph-stale");
  const auto refused = [&](Duration lasting, const std::string& why) {
    return !book_.shelve("reef", "ph-stale", {now_.stamp, lasting, "keeper", why}).empty();
  };
  EXPECT_TRUE(refused(Duration::zero(), "x"));
  EXPECT_TRUE(refused(-1h, "x"));
  EXPECT_TRUE(refused(Book::kShelfMax + 1s, "x"));
  EXPECT_TRUE(refused(1h, ""));
  EXPECT_FALSE(refused(Book::kShelfMax, "x"));
  EXPECT_NE(book_.shelve("reef", "no-such", {now_.stamp, 1h, "keeper", "x"}), "");
}

TEST_F(Life, comes_back_within_its_off_delay_and_nothing_was_said) {
  raise("ph-stale");
  EXPECT_THAT(told(), ElementsAre("ph-stale"));
  for (int i = 0; i < 20; ++i) {
    pass(1min);
    end("ph-stale");
    pass(1min);
    raise("ph-stale");
    EXPECT_THAT(told(), IsEmpty());
  }
  EXPECT_EQ(book_.records().size(), 1U);
  EXPECT_EQ(book_.records()[0].came, 21);
}

TEST_F(Life, its_return_is_told_once_and_what_comes_again_soon_is_the_same_alert) {
  raise("ph-stale");
  EXPECT_THAT(told(), ElementsAre("ph-stale"));
  const std::string number = book_.records()[0].number;
  end("ph-stale");
  EXPECT_THAT(told(), IsEmpty()) << "its off-delay";
  pass(5min);
  EXPECT_THAT(told(), ElementsAre("ph-stale"));
  EXPECT_THAT(told(), IsEmpty());
  pass(1h);
  raise("ph-stale");
  EXPECT_THAT(told(), ElementsAre("ph-stale"));
  EXPECT_EQ(book_.records()[0].number, number);
}

TEST_F(Life, what_flaps_for_a_day_is_told_a_few_times) {
  int messages = 0;
  for (int i = 0; i < 24 * 6; ++i) {
    i % 2 == 0 ? raise("ph-stale") : end("ph-stale");
    for (int minute = 0; minute < 10; ++minute) {
      pass(1min);
      messages += static_cast<int>(told().size());
    }
  }
  EXPECT_LE(messages, 30);
}

TEST_F(Life, that_was_never_told_and_is_over_is_forgotten) {
  raise("disk-slow");  // its on-delay is a minute
  EXPECT_THAT(told(), IsEmpty());
  end("disk-slow");
  pass(1s);
  EXPECT_THAT(book_.records(), IsEmpty());
}

TEST_F(Life, until_seen_waits_for_that) {
  note("ledger");
  EXPECT_THAT(told(), ElementsAre("ledger"));
  pass(300h);
  EXPECT_EQ(state("ledger"), "unacknowledged");
  see("ledger");
  EXPECT_EQ(state("ledger"), "none");
  note("ledger");
  EXPECT_EQ(state("ledger"), "unacknowledged") << "it happened again";
}

TEST_F(Life, is_neither_lost_nor_repeated_by_a_restart) {
  raise("ph-second-ceiling", "pH 8.61.", "held-ph-second-ceiling");
  note("ledger");
  EXPECT_EQ(told().size(), 2U);
  see("ledger");
  for (int i = 0; i < 10; ++i) {
    restart();
    pass(10s);
    raise("ph-second-ceiling", "pH 8.60.", "held-ph-second-ceiling");
    EXPECT_THAT(told(), IsEmpty());
    EXPECT_EQ(state("ph-second-ceiling"), "unacknowledged");
  }
  see("ph-second-ceiling");
  restart();
  raise("ph-second-ceiling", "pH 8.59.", "held-ph-second-ceiling");
  EXPECT_EQ(state("ph-second-ceiling"), "acknowledged");
  pass(24h);
  EXPECT_THAT(told(), IsEmpty());
}

TEST_F(Life, whose_cause_ended_while_nobody_looked_is_over_after_its_time) {
  raise("temperature-unusual");
  EXPECT_THAT(told(), ElementsAre("temperature-unusual"));
  restart();
  pass(30min - 1s);
  EXPECT_EQ(state("temperature-unusual"), "unacknowledged");
  pass(1s);
  EXPECT_EQ(state("temperature-unusual"), "returned-unacknowledged");
  pass(5min);
  EXPECT_THAT(told(), ElementsAre("temperature-unusual")) << "that it is over";
}

TEST_F(Life, is_not_over_because_the_clock_was_set_after_the_start) {
  raise("temperature-unusual");
  raise("dose-beyond-chemistry");
  EXPECT_EQ(told().size(), 2U);
  now_.wall_trusted = false;  // no clock chip: the machine was off for six hours, and does not know
  restart();
  pass(40s);
  now_.wall_trusted = true;
  now_.stamp.wall += 6h;
  pass(20min);
  EXPECT_EQ(state("temperature-unusual"), "unacknowledged");
  EXPECT_EQ(state("dose-beyond-chemistry"), "unacknowledged");
  pass(10min);
  EXPECT_EQ(state("temperature-unusual"), "returned-unacknowledged");
}

TEST_F(Life, of_a_longer_life_is_told_again_in_this_one) {
  now_.wall_trusted = false;
  raise("daemon-silent");
  EXPECT_THAT(told(), ElementsAre("daemon-silent"));
  now_.stamp.lifetime = 1min;  // what has no record of its life counts from the machine's start
  restart();
  raise("daemon-silent");
  pass(1h);
  EXPECT_THAT(told(), ElementsAre("daemon-silent"));
}

TEST_F(Life, that_was_seen_long_ago_does_not_keep_another_quiet) {
  raise("ph-stuck");
  EXPECT_THAT(told(), ElementsAre("ph-stuck"));
  see("ph-stuck");
  pass(23h);
  raise("dosing-stopped");
  EXPECT_THAT(told(), IsEmpty()) << "whoever has just seen the one expects the other";
  pass(1h);
  EXPECT_THAT(told(), ElementsAre("dosing-stopped"));
}

TEST_F(Life, that_is_shelved_does_not_keep_another_quiet_for_longer_than_a_day) {
  raise("ph-stuck");
  EXPECT_THAT(told(), ElementsAre("ph-stuck"));
  EXPECT_EQ(book_.shelve("reef", "ph-stuck", {now_.stamp, Book::kShelfMax, "keeper", "away"}), "");
  raise("dosing-stopped");
  pass(24h - 1s);
  EXPECT_THAT(told(), IsEmpty());
  pass(1s);
  EXPECT_THAT(told(), ElementsAre("dosing-stopped"));
}

TEST_F(Life, raised_before_the_record_could_be_read_is_the_same_alert) {
  raise("ph-stale");
  EXPECT_EQ(told().size(), 1U);
  const std::vector<Record> kept = book_.records();
  Book later{[this] { return std::to_string(++numbers_); }};
  book_ = std::move(later);
  raise("ph-stale");
  book_.know(kept, now_);
  ASSERT_EQ(book_.records().size(), 1U);
  EXPECT_EQ(book_.records()[0].number, kept[0].number);
  EXPECT_THAT(told(), IsEmpty());
}

TEST_F(Life, that_waits_to_be_seen_is_another_when_it_happens_again) {
  note("ledger");
  EXPECT_EQ(told().size(), 1U);
  see("ledger", Origin::afar);
  pass(2h);
  note("ledger");
  EXPECT_EQ(state("ledger"), "unacknowledged");
  EXPECT_THAT(told(), ElementsAre("ledger"));
  see("ledger");
  const std::vector<Record> kept = book_.records();
  book_ = Book{[this] { return std::to_string(++numbers_); }};
  pass(2h);
  note("ledger");
  book_.know(kept, now_);
  EXPECT_EQ(state("ledger"), "unacknowledged") << "before the record could be read";
  EXPECT_THAT(told(), ElementsAre("ledger"));
}

TEST_F(Life, is_not_told_beside_what_explains_it) {
  raise("ph-stuck");
  EXPECT_THAT(told(), ElementsAre("ph-stuck"));
  pass(10min);
  raise("dosing-stopped");
  EXPECT_THAT(told(), IsEmpty());
  ASSERT_EQ(book_.explained_by(book_.records()[0]).size(), 1U);
  end("ph-stuck");
  EXPECT_THAT(told(), ElementsAre("dosing-stopped")) << "nothing explains it any more";
}

TEST_F(Life, of_one_station_explains_nothing_of_another) {
  raise("ph-stuck");
  EXPECT_EQ(told().size(), 1U);
  book_.take("frags",
             Event{now_.stamp.wall, Severity::alert, "dosing-stopped", "x", "dosing-stopped"},
             now_);
  EXPECT_THAT(told(), ElementsAre("dosing-stopped"));
}

TEST_F(Life, ages_by_what_was_observed_and_by_a_clock_that_is_trusted) {
  raise("ph-stale");
  EXPECT_EQ(told().size(), 1U);
  now_.stamp.wall += 2h;  // the machine was off
  EXPECT_THAT(told(), ElementsAre("ph-stale"));
  now_.wall_trusted = false;
  now_.stamp.wall += 1000h;
  EXPECT_THAT(told(), IsEmpty());
  now_.stamp.wall -= 9000h;
  now_.stamp.lifetime += 5h;
  EXPECT_THAT(told(), ElementsAre("ph-stale"));
}

TEST_F(Life, that_nobody_saw_is_forgotten_a_week_after_it_is_over) {
  raise("ph-stale");
  EXPECT_EQ(told().size(), 1U);
  end("ph-stale");
  pass(7 * 24h - 1s);
  EXPECT_EQ(state("ph-stale"), "returned-unacknowledged");
  pass(1s);
  EXPECT_THAT(book_.records(), IsEmpty());
}

TEST(RecordJson, is_no_record_where_it_is_none) {
  for (const char* text : {"", "{", "[]", "{}", "null", R"({"station":1})"}) {
    EXPECT_FALSE(record_of(text)) << text;
  }
}

}  // namespace
}  // namespace limegate::alerts
