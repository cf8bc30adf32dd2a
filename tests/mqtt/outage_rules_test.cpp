// What a person hears of a connection that comes and goes.

#include <chrono>

#include <gmock/gmock.h>

#include "mqtt/outage.h"

namespace limegate::mqtt {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

Moment at(Duration after) { return {Instant{1h} + after, WallTime{1h} + after}; }
const Failure kGone{Failure::Kind::unreachable, "nobody answers"};
const Failure kNobody{Failure::Kind::unreachable, "nobody listens"};
const Failure kSentAway{Failure::Kind::sent_away, "it shuts down"};
const Failure kRefused{Failure::Kind::refused, "wrong password"};

TEST(OutageRules, TheWaitDoublesUpToItsMostAndBeginsAnewAfterAProvenConnection) {
  Outage outage{Settings{}};
  std::vector<Duration> waits;
  for (int i = 0; i < 7; ++i) {
    (void)outage.failed(kGone, at(0s));
    waits.push_back(outage.back_off());
  }
  EXPECT_THAT(waits, ::testing::ElementsAre(1s, 2s, 4s, 8s, 16s, 30s, 30s));
  outage.accepted(at(60s).mono);
  outage.connected(at(60s).mono);
  (void)outage.tick(at(64s));
  (void)outage.tick(at(65s));
  (void)outage.failed(kGone, at(100s));
  EXPECT_EQ(outage.back_off(), 0s) << "a connection that broke is tried again at once";
  (void)outage.failed(kNobody, at(100s));
  (void)outage.failed(kNobody, at(101s));
  EXPECT_EQ(outage.back_off(), 4s);
}

TEST(OutageRules, EachReasonIsToldOnceInAnOutage) {
  Outage outage{Settings{}};
  EXPECT_EQ(outage.failed(kGone, at(0s)).size(), 1U);
  EXPECT_EQ(outage.failed(kGone, at(1s)).size(), 0U);
  EXPECT_EQ(outage.failed(kRefused, at(2s)).size(), 1U);
  EXPECT_EQ(outage.failed(kGone, at(3s)).size(), 0U);
}

TEST(OutageRules, ARefusalIsAnAlertAtOnceAndEndsWithTheConnection) {
  Outage outage{Settings{}};
  const auto events = outage.failed(kRefused, at(0s));
  ASSERT_EQ(events.size(), 1U);
  EXPECT_EQ(events[0].severity, station::Severity::alert);
  EXPECT_EQ(outage.back_off(), 30s) << "a person must act: no hurry";
  outage.connected(at(60s).mono);
  const auto back = outage.tick(at(65s));
  ASSERT_EQ(back.size(), 1U);
  EXPECT_EQ(back[0].ends, events[0].begins);
}

TEST(OutageRules, StayingAwayIsAnAlertAfterTenMinutes) {
  Outage outage{Settings{}};
  (void)outage.failed(kGone, at(0s));
  EXPECT_TRUE(outage.tick(at(10min - 1s)).empty());
  ASSERT_EQ(outage.tick(at(10min)).size(), 1U);
  EXPECT_TRUE(outage.tick(at(10min + 1s)).empty()) << "once";
}

TEST(OutageRules, FourShortConnectionsInARowAreTakenForAnotherClientWithOurId) {
  Outage outage{Settings{}};
  std::string codes;
  for (int i = 0; i < 4; ++i) {
    outage.accepted(at(i * 40s).mono);
    for (const auto& event : outage.failed(kGone, at(i * 40s + 29s))) {
      codes += event.code + " ";
    }
  }
  EXPECT_EQ(codes, "mqtt-away mqtt-id-taken ");
  EXPECT_EQ(outage.back_off(), 5min);
}

TEST(OutageRules, ABrokerThatSaysWhyItEndsConnectionsIsNot) {
  Outage outage{Settings{}};
  for (int i = 0; i < 12; ++i) {
    for (const Failure& failure : {kSentAway, kGone}) {  // one of them is without a word
      outage.accepted(at(i * 8s).mono);
      (void)outage.failed(failure, at(i * 8s + 3s));
      EXPECT_LE(outage.back_off(), 30s) << i;
    }
  }
}

TEST(OutageRules, ABrokerThatIsGoneBetweenItsShortConnectionsIsNot) {
  Outage outage{Settings{}};
  for (int i = 0; i < 12; ++i) {
    outage.accepted(at(i * 4s).mono);
    for (const Failure& failure : {kGone, kNobody}) {
      (void)outage.failed(failure, at(i * 4s + 3s));
      EXPECT_LE(outage.back_off(), 30s) << i;
    }
    EXPECT_GE(outage.back_off(), 1s) << i;
  }
}

TEST(OutageRules, LongConnectionsAreNot) {
  Outage outage{Settings{}};
  for (int i = 0; i < 10; ++i) {
    outage.accepted(at(i * 40s).mono);
    (void)outage.failed(kGone, at(i * 40s + 30s));
    EXPECT_LE(outage.back_off(), 30s);
  }
}

}  // namespace
}  // namespace limegate::mqtt
