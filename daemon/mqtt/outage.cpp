#include "mqtt/outage.h"

#include <algorithm>
#include <chrono>

namespace limegate::mqtt {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using station::Severity;

/// A connection that breaks sooner than this is no end of an outage.
constexpr Duration kProven = 5s;
/// Brokers that say nothing to one whose id is taken just close, and each side comes again: so many
/// connections in a row, each shorter than this, are taken for that. A broker that says why it ends
/// a connection, or does not listen when we come again at once, breaks the row: it starts again and
/// again itself. (Mosquitto 2.0.11 does not say 0x8E.)
constexpr Duration kShort = 30s;
constexpr int kShortInARow = 4;
constexpr std::size_t kReasonsMax = 8;
constexpr const char* kAway = "mqtt-broker";
constexpr const char* kTaken = "mqtt-id-taken";

}  // namespace

Outage::Outage(const Settings& settings)
    : first_(settings.back_off_first),
      most_(settings.back_off_max),
      after_taken_over_(settings.back_off_taken_over),
      alert_after_(settings.away_alert_after),
      place_(settings.host + ":" + std::to_string(settings.port)),
      back_off_(first_) {}

Failure Outage::judged(const Failure& failure, Instant now) {
  at_once_ = accepted_at_ && failure.kind == Failure::Kind::unreachable;
  const bool brief = accepted_at_ && now - *accepted_at_ < kShort;
  short_in_a_row_ = brief && failure.kind != Failure::Kind::sent_away ? short_in_a_row_ + 1 : 0;
  accepted_at_.reset();
  connected_since_.reset();
  if (failure.kind != Failure::Kind::unreachable || short_in_a_row_ < kShortInARow) {
    return failure;
  }
  return {Failure::Kind::taken_over,
          "the connection broke soon after it was made, again and again: probably another client "
          "comes with our id"};
}

Outage::Events Outage::failed(const Failure& reported, Moment now) {
  const Failure failure = judged(reported, now.mono);
  const bool first = !away_since_;
  if (first) {
    away_since_ = now.mono;
    told_.clear();
  }
  back_off_ = first ? first_ : std::min(back_off_ * 2, most_);
  if (failure.kind == Failure::Kind::refused) {
    back_off_ = most_;
  }
  const bool taken = failure.kind == Failure::Kind::taken_over;
  if (taken) {
    at_once_ = false;
    back_off_ = after_taken_over_;
    taken_over_ = true;
    short_in_a_row_ = 0;
  }
  if (told_.size() >= kReasonsMax || !told_.insert(failure.why).second) {
    return {};
  }
  const std::string sentence =
      "MQTT: " + failure.why +
      (taken ? ". Two programs with one id throw each other out: give one of them another 'device'."
             : ". Dosing goes on without it; it is tried again by itself.");
  if (taken) {
    return {{now.wall, Severity::alert, kTaken, sentence, kTaken}};
  }
  if (failure.kind == Failure::Kind::refused) {
    alert_ = true;
    return {{now.wall, Severity::alert, "mqtt-refused", sentence, kAway}};
  }
  return {{now.wall, Severity::warning, "mqtt-away", sentence}};
}

void Outage::connected(Instant now) { connected_since_ = now; }

Outage::Events Outage::tick(Moment now) {
  Events events;
  if (!connected_since_) {
    if (away_since_ && !alert_ && now.mono - *away_since_ >= alert_after_) {
      alert_ = true;
      events.push_back(
          {now.wall, Severity::alert, "mqtt-away-long",
           "MQTT: the broker at " + place_ +
               " has been away for long; nobody afar sees this daemon. Dosing goes on.",
           kAway});
    }
    return events;
  }
  const Duration lasting = now.mono - *connected_since_;
  if (!told_of_connection_ || (away_since_ && lasting >= kProven)) {
    told_of_connection_ = true;
    alert_ = false;
    away_since_.reset();
    back_off_ = first_;
    events.push_back({now.wall, Severity::info, "mqtt-connected",
                      "MQTT: connected to the broker at " + place_ + ".", "", kAway});
  }
  if (taken_over_ && lasting >= after_taken_over_) {
    taken_over_ = false;
    events.push_back({now.wall, Severity::info, "mqtt-id-ours",
                      "MQTT: nobody else has come with our id for a while.", "", kTaken});
  }
  return events;
}

}  // namespace limegate::mqtt
