#include "delivery/courier.h"

#include <algorithm>
#include <chrono>
#include <ctime>
#include <utility>

#include <boost/asio/post.hpp>
#include <boost/uuid/random_generator.hpp>
#include <boost/uuid/uuid_io.hpp>
#include <fmt/format.h>

#include "alerts/cloud_event.h"
#include "rules/for_people.h"

namespace limegate::delivery {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using station::Severity;

constexpr Duration kLookEvery = 2s;
/// No longer than what can't wait may wait (alerts/kind.cpp).
constexpr Duration kFirstWait = 10s, kLongestWait = 10min;
/// What fails for so long is told on every other way.
constexpr Duration kStuck = 30min;
constexpr Duration kRemind = 1h;
/// A daemon that was ended is back by then, or does not come.
constexpr Duration kDaemonComesBack = 5min;
/// A message that is refused as such is tried so often.
constexpr int kRefusedMax = 5;
/// What was delivered is known for so long.
constexpr Duration kKnownFor = 30 * 24h;
constexpr const char* kStuckId = "delivery-stuck-";

bool is_for_daemon(const station::Event& event) {
  return event.code.rfind("delivery-", 0) == 0 || event.code == "daemon-watchdog";
}

std::string new_id() { return boost::uuids::to_string(boost::uuids::random_generator()()); }

Duration time_of_day(WallTime at, std::int64_t& day) {
  const std::time_t seconds = std::chrono::system_clock::to_time_t(at);
  std::tm local{};
  ::localtime_r(&seconds, &local);
  day = (seconds + local.tm_gmtoff) / 86400;
  return std::chrono::hours{local.tm_hour} + std::chrono::minutes{local.tm_min};
}

}  // namespace

Courier::Courier(const alerts::Delivery& settings, Parts parts)
    : settings_(settings),
      parts_(std::move(parts)),
      own_(new_id),
      teller_({new_id, [](const alerts::Record&) { return std::string{}; }}),
      beat_thread_(std::make_unique<boost::asio::thread_pool>(1)),
      random_(std::random_device{}()) {
  for (const alerts::Destination& destination : settings_.destinations) {
    ways_.push_back({destination, std::make_unique<boost::asio::thread_pool>(1)});
  }
  std::vector<std::string> names;
  for (const Way& way : ways_) {
    names.push_back(way.destination.name);
  }
  note(parts_.queue.keep_only(names));
  own_.know(parts_.queue.own().value_or(std::vector<alerts::Record>{}), when(parts_.clock.now()));
  newest_ = parts_.queue.newest_id().value_or("");
}

Courier::~Courier() {
  for (Way& way : ways_) {
    way.thread->join();
  }
  beat_thread_->join();
}

alerts::When Courier::when(Moment now) const {
  // What it raises itself it finds out again within a minute: uptime will do.
  return {{now.mono.time_since_epoch(), now.wall}, now.wall_trusted};
}

void Courier::note(const journal::Stored<void>& done) {
  if (!done && !std::exchange(queue_faulty_, true)) {
    parts_.log("The queue can't be written: " + done.error().text() + ".", false);
  }
  queue_faulty_ = !done;
}

void Courier::note_added(const journal::Stored<bool>& added) {
  note(added ? journal::Stored<void>{} : tl::unexpected(added.error()));
}

/// In the daemon's book it reaches the other unit's ways and MQTT too, and can be acknowledged.
/// What tells of the daemon's silence stays in the own one.
void Courier::raise(const station::Event& event, Moment now) {
  parts_.log(event.sentence, event.severity == Severity::info);
  if (is_for_daemon(event)) {
    for_daemon_.push_back({event, now.mono});
    tell_daemon(now);
  } else {
    own_.take("", event, when(now));
  }
}

void Courier::tell_daemon(Moment now) {
  while (!for_daemon_.empty()) {
    const Untold& first = for_daemon_.front();
    const bool told = answers_ && parts_.tell_daemon(first.event);
    if (!told && !answers_ && now.mono - first.since < kDaemonComesBack) {
      return;
    }
    // An end is the end in both, wherever its begin was told.
    if (!told || !first.event.ends.empty()) {
      own_.take("", first.event, when(now));
    }
    for_daemon_.pop_front();
  }
}

void Courier::look(Moment now) {
  std::vector<station::Event> events;
  if (!parts_.queue.settled()) {
    note(parts_.queue.settle());
  }
  if (const auto end = parts_.last_end()) {
    watch_.ended(*end, now, events);
  } else {
    watch_.none_ended_yet();
  }
  const auto news = parts_.fetch(newest_);
  answers_ = news.has_value();
  if (news) {
    watch_.heard(now);
    take_all(*news, now);
    unseen_ = news->unseen;
    all_well_ = news->all_well;
  }
  watch_.tick(now, events);
  for (const station::Event& event : events) {
    raise(event, now);
  }
  tell_daemon(now);
}

void Courier::tell_own(Moment now) {
  if (const auto message = teller_.tick(own_, when(now))) {
    take(alerts::cloud_event(*message, parts_.source), now);
  }
  if (settings_.all_is_well_at) {
    std::int64_t day = 0;
    const bool due = time_of_day(now.wall, day) >= *settings_.all_is_well_at;
    const bool first = !well_told_on_;
    if (due && well_told_on_ != day) {
      well_told_on_ = day;
      const std::vector<alerts::Record>& own = own_.records();
      const bool own_well = std::none_of(
          own.begin(), own.end(), [](const alerts::Record& record) { return record.stands(); });
      if (!first && answers_ && all_well_ && own_well) {
        alerts::Message message{new_id(), now.wall, alerts::Message::Type::all_well};
        message.text = "limegate answers, and nothing needs you.\n";
        alerts::write_for_people(message);
        take(alerts::cloud_event(message, parts_.source), now);
      }
    } else if (first) {
      well_told_on_ = day - 1;
    }
  }
  if (own_.take_changed()) {
    note(parts_.queue.keep(own_.records()));
  }
}

bool Courier::seen_by_now(const Way& way, const Envelope& envelope) const {
  // The daemon knows nothing of what delivery raises itself, and nobody can say there that it was
  // seen.
  const bool own_stands =
      std::any_of(own_.records().begin(), own_.records().end(), [&](const alerts::Record& record) {
        return record.stands() && std::find(envelope.numbers.begin(), envelope.numbers.end(),
                                            record.number) != envelope.numbers.end();
      });
  return !own_stands && way.destination.after > Duration::zero() && answers_ &&
         std::none_of(envelope.numbers.begin(), envelope.numbers.end(),
                      [&](const std::string& number) { return unseen_.contains(number); });
}

/// Whoever was woken by it hears that it is over.
bool Courier::ends_what_it_told(const Way& way, const Envelope& envelope) const {
  return way.destination.after > Duration::zero() &&
         std::any_of(envelope.over.begin(), envelope.over.end(), [&](const std::string& number) {
           return parts_.queue.has_delivered(way.destination.name, number);
         });
}

Duration Courier::back_off(int failures) {
  Duration wait = kFirstWait;
  for (int i = 1; i < failures && wait < kLongestWait; ++i) {
    wait *= 2;
  }
  // With a part by chance, so that what failed together does not come back together.
  const double share = std::uniform_real_distribution<>{0.75, 1.25}(random_);
  return std::chrono::duration_cast<Duration>(std::min(wait, kLongestWait) * share);
}

void Courier::serve(Way& way, Moment now) {
  if (way.busy || (way.not_before && now.mono < *way.not_before)) {
    return;
  }
  const auto next = parts_.queue.next(way.destination.name);
  if (!next) {
    if (!way.stuck) {
      way.fails_since.reset();  // what failed is needed no more
    }
    return;
  }
  const journal::DeliveryQueue::Waiting& what = *next;
  const Envelope envelope = envelope_of(what.event).value_or(Envelope{});
  const bool at_once = envelope.for_everyone || ends_what_it_told(way, envelope);
  if (!at_once && now.wall - what.came < way.destination.after && now.wall >= what.came) {
    return;
  }
  if (!at_once && seen_by_now(way, envelope)) {
    note(parts_.queue.end(what, way.destination.name, journal::DeliveryQueue::End::not_needed,
                          "somebody has seen it"));
    return;
  }
  way.busy = true;
  boost::asio::post(*way.thread, [this, &way, what, envelope] {
    Attempt attempt = parts_.attempt(way.destination, envelope, what.event);
    boost::asio::post(parts_.loop, [this, &way, what, attempt = std::move(attempt)] {
      ended(way, what, attempt);
    });
  });
}

void Courier::ended(Way& way, const journal::DeliveryQueue::Waiting& what, const Attempt& attempt) {
  const Moment now = parts_.clock.now();
  const std::string& name = way.destination.name;
  way.busy = false;
  if (attempt.came == Attempt::Came::delivered) {
    note(parts_.queue.end(what, name, journal::DeliveryQueue::End::delivered, attempt.sentence));
    way.failures = 0;
    way.not_before.reset();
    way.fails_since.reset();
    way.last_line.clear();
    way.stuck_told_at.reset();
    if (std::exchange(way.stuck, std::nullopt)) {
      raise({now.wall,
             Severity::info,
             "delivery-works",
             "Messages reach " + name + " again.",
             {},
             kStuckId + name},
            now);
    }
    return;
  }
  if (attempt.came == Attempt::Came::never && what.attempts + 1 >= kRefusedMax) {
    note(parts_.queue.end(what, name, journal::DeliveryQueue::End::given_up, attempt.sentence));
    way.failures = 0;  // what one message had to wait for is not the next one's
    way.not_before.reset();
    way.fails_since.reset();
    raise({now.wall, Severity::alert, "delivery-refused",
           "A message was given up: " + name + " will not take it (" + attempt.sentence + ")."},
          now);
    return;
  }
  note(parts_.queue.note_attempt(what, name, attempt.sentence));
  failed(way, attempt, now);
}

void Courier::failed(Way& way, const Attempt& attempt, Moment now) {
  const std::string& name = way.destination.name;
  ++way.failures;
  way.not_before =
      now.mono + std::max(back_off(way.failures), attempt.not_before.value_or(Duration::zero()));
  way.fails_since = way.fails_since.value_or(now.mono);
  if (std::exchange(way.last_line, attempt.sentence) != attempt.sentence) {
    parts_.log(name + ": " + attempt.sentence + ". It is tried again.", false);
  }
}

/// Whether or not it was tried just now: a receiver may ask for a day of patience. Again each hour,
/// for a daemon that was started anew.
void Courier::tell_if_stuck(Way& way, Moment now) {
  if (!way.fails_since || now.mono - *way.fails_since < kStuck ||
      (way.stuck_told_at && now.mono - *way.stuck_told_at < kRemind)) {
    return;
  }
  way.stuck_told_at = now.mono;
  const std::string& name = way.destination.name;
  const bool full = parts_.queue.count_waiting(name).value_or(0) >= parts_.queue.kWaitingMax;
  if (!way.stuck || full != way.full) {
    way.full = full;
    way.stuck = {now.wall, Severity::alert, "delivery-stuck",
                 "Messages have not reached " + name + " for " + rules::for_people(kStuck) + ": " +
                     way.last_line + "." +
                     (full ? " So many wait that the oldest are given up." : ""),
                 kStuckId + name};
  }
  raise(*way.stuck, now);
}

void Courier::tick() {
  const Moment now = parts_.clock.now();
  if (!next_look_ || now.mono >= *next_look_) {
    next_look_ = now.mono + kLookEvery;
    look(now);
  }
  tell_own(now);
  for (Way& way : ways_) {
    serve(way, now);
    tell_if_stuck(way, now);
  }
  // Only while the daemon answers: its silence is what the receiver is to notice.
  if (!settings_.heartbeat_url.empty() && answers_ && !beating_ &&
      (!next_beat_ || now.mono >= *next_beat_)) {
    next_beat_ = now.mono + settings_.heartbeat_every;
    beating_ = true;
    boost::asio::post(*beat_thread_, [this] {
      (void)beat(settings_.heartbeat_url);
      boost::asio::post(parts_.loop, [this] { beating_ = false; });
    });
  }
  if (now.wall_trusted && (!next_tidy_ || now.mono >= *next_tidy_)) {
    next_tidy_ = now.mono + 24h;
    note(parts_.queue.forget_before(now.wall - kKnownFor));
  }
}

bool Courier::busy() const {
  return beating_ ||
         std::any_of(ways_.begin(), ways_.end(), [](const Way& way) { return way.busy; });
}

}  // namespace limegate::delivery
