#include "journal/alert_store.h"

#include <chrono>

#include <gtest/gtest.h>

#include "alerts/record_json.h"
#include "journal/ledger_schema.h"
#include "journal/scratch.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

class AlertStoreTest : public Scratch {
 protected:
  static alerts::Record record(const std::string& id) {
    alerts::Record record;
    record.station = "reef";
    record.id = id;
    record.number = "n-" + id;
    record.sentence = "It is so: \"µ\".";
    record.raised = {12h, WallTime{500000h}};
    record.over = dosing::Stamp{13h, WallTime{500001h}};
    record.lasting = record.latched = record.changed = record.return_told = true;
    record.came = 3;
    record.told = 2;
    record.told_at = dosing::Stamp{12h + 1min, WallTime{500000h + 1min}};
    record.seen = alerts::Record::Seen{station::Origin::afar, "MQTT", {12h, WallTime{500000h}}};
    record.shelf = alerts::Record::Shelf{{12h, WallTime{500000h}}, 2h, "keeper", "cleaning"};
    return record;
  }
  static std::string text(const AlertStore::Kept& kept) {
    std::string all;
    for (const alerts::Record& one : kept.records) {
      all += alerts::json_of(one) + "\n";
    }
    return all;
  }
};

TEST_F(AlertStoreTest, keeps_records_whole_and_messages_in_their_order) {
  {
    const Ledger ledger = prepared();
    EXPECT_TRUE(ledger.alerts().read()->records.empty());
    ASSERT_TRUE(ledger.alerts().keep({record("a"), record("b")}, {{{1h, WallTime{1h}}, "first"},
                                                                  {{2h, WallTime{2h}}, "second"}}));
  }
  const auto kept = opened().alerts().read();
  ASSERT_TRUE(kept);
  EXPECT_EQ(text(*kept), alerts::json_of(record("a")) + "\n" + alerts::json_of(record("b")) + "\n");
  ASSERT_EQ(kept->messages.size(), 2U);
  EXPECT_EQ(kept->messages[0].event, "first");
  EXPECT_EQ(kept->messages[1].at, (dosing::Stamp{2h, WallTime{2h}}));
}

TEST_F(AlertStoreTest, replaces_records_and_adds_messages_up_to_a_bound) {
  const Ledger ledger = prepared();
  ASSERT_TRUE(ledger.alerts().keep({record("a")}, {}));
  for (int i = 0; i < 130; ++i) {
    ASSERT_TRUE(ledger.alerts().keep({record("b")}, {{{}, std::to_string(i)}}));
  }
  const auto kept = ledger.alerts().read();
  ASSERT_EQ(kept->records.size(), 1U);
  EXPECT_EQ(kept->records[0].id, "b");
  ASSERT_EQ(kept->messages.size(), static_cast<std::size_t>(AlertStore::kMessagesKept));
  EXPECT_EQ(kept->messages.front().event, "30");
  EXPECT_EQ(kept->messages.back().event, "129");
}

TEST_F(AlertStoreTest, a_damaged_row_is_told_and_frees_nothing) {
  {
    const Ledger ledger = prepared();
    ASSERT_TRUE(ledger.alerts().keep({record("a"), record("b")}, {{{}, "first"}}));
  }
  tamper(
      "UPDATE alerts SET record = replace(record, 'so', 'no') WHERE id = 'a'; "
      "UPDATE alert_messages SET event = 'x'");
  const Ledger ledger = opened();
  ASSERT_EQ(ledger.notes().size(), 2U);
  EXPECT_NE(ledger.notes()[0].find("found out again"), std::string::npos);
  const auto kept = ledger.alerts().read();
  ASSERT_EQ(kept->records.size(), 1U);
  EXPECT_EQ(kept->records[0].id, "b");
  EXPECT_TRUE(kept->messages.empty());
  EXPECT_FALSE(full(history(ledger)));
}

TEST_F(AlertStoreTest, a_file_of_the_version_before_is_taken_on_as_it_is) {
  {
    Ledger ledger = prepared();
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, 1)));
  }
  tamper(back_to_schema(8));
  const Ledger ledger = opened();
  EXPECT_TRUE(ledger.notes().empty());
  EXPECT_TRUE(ledger.alerts().read()->records.empty());
  EXPECT_EQ(history(ledger).newest_pulse_id, 1);
  EXPECT_EQ(number("PRAGMA user_version"), kSchema);
}

}  // namespace
}  // namespace limegate::journal
