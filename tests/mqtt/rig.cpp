#include "mqtt/rig.h"

#include <algorithm>
#include <future>
#include <sstream>
#include <utility>

#include <boost/asio/post.hpp>
#include <mqtt/async_client.h>
#include <sys/resource.h>

#include "mqtt/alert.h"
#include "support/wait_until.h"
#include "units/quantities.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Clock = std::chrono::steady_clock;

double microseconds(Clock::duration duration) {
  return std::chrono::duration<double, std::micro>(duration).count();
}

long interruptions_of_this_thread() {
  rusage used{};
  ::getrusage(RUSAGE_THREAD, &used);
  return used.ru_nivcsw;
}

double percentile(std::vector<double>& sorted, double share) {
  return sorted.empty() ? 0.0 : sorted[static_cast<std::size_t>(share * double(sorted.size() - 1))];
}

station::Status status_of(const std::string& name) {
  station::Status status;
  status.station = name;
  status.ph.value = status.ph.newest = 8.2;
  status.ph.quality = signal::Quality::good;
  status.ph.reason = signal::Reason::none;
  status.ph.at.wall = WallTime{std::chrono::seconds{1795590932}};  // 2026-11-25T07:15:32Z
  status.temperature = status.ph;
  status.temperature.value = status.temperature.newest = 25.5;
  status.stirrer = rules::StirrerKnown::State::resting;
  status.pulse_volume = Millilitres{14.0};
  status.given_hour = Millilitres{28.0};
  status.hour_limit = Millilitres{345.6};
  status.given_day = Millilitres{600.0};
  status.day_limit = Millilitres{2000.0};
  status.day_volume = status.day_volume_at_station = Millilitres{2000.0};
  status.next_stir_in = 30min;
  return status;
}

/// A client that never connects. The daemon always has one: the next comes before the former goes.
/// A process that makes a rig after another has none in between, and there paho 1.3.12 lets go of
/// its trace buffer: a late line of a thread makes another, which the next client forgets.
void keep_paho_begun() { static const ::mqtt::async_client idle{"mqtt://127.0.0.1", "idle"}; }

}  // namespace

Rig::Rig(mqtt::Settings settings, std::chrono::milliseconds tick,
         std::vector<mqtt::InputTopic> inputs)
    : every_(tick), work_(loop_.get_executor()), timer_(loop_), overview_(overview()) {
  keep_paho_begun();
  surface_.emplace(
      std::move(settings),
      mqtt::Surface::Parts{
          [this](std::function<void()> what) { boost::asio::post(loop_, std::move(what)); },
          [this](const std::string& station, const alerts::Asked& command) {
            return obey(station, command);
          },
          [this](const std::string& station, const station::Event& event) {
            {
              const std::lock_guard lock{mutex_};
              events_.push_back(station + " " + event.code + " " + event.sentence);
            }
            surface_->tell(station, event);
          },
          std::move(inputs),
          [this](std::size_t input, double value) {
            std::ostringstream text;
            text << input << ' ' << value;
            const std::lock_guard lock{mutex_};
            newest_input_ = text.str();
          }});
  timer_.expires_after(0ms);
  arm();
  thread_ = std::thread{[this] { loop_.run(); }};
}

// A loop that can't be stopped may end the test program.
Rig::~Rig() {  // NOLINT(bugprone-exception-escape)
  if (surface_) {
    stop();
  }
}

void Rig::stop() {
  std::promise<void> done;
  boost::asio::post(loop_, [&] {
    timer_.cancel();
    surface_->stop();
    done.set_value();
  });
  done.get_future().wait();
  loop_.stop();
  thread_.join();
  surface_.reset();
}

void Rig::arm() {
  timer_.async_wait([this](const boost::system::error_code& error) {
    if (!error) {
      tick();
      timer_.expires_at(std::max(timer_.expiry() + every_, Clock::now()));
      arm();
    }
  });
}

void Rig::tick() {
  const auto due = timer_.expiry();
  station::Overview now = [&] {
    const std::lock_guard lock{mutex_};
    return overview_;
  }();
  now.at.wall = std::chrono::system_clock::now();
  const long interruptions = interruptions_of_this_thread();
  const auto begin = Clock::now();
  surface_->show(now);
  const auto end = Clock::now();
  const bool whole = interruptions_of_this_thread() == interruptions;
  const std::lock_guard lock{mutex_};
  ++ticks_;
  if (whole) {
    shows_.push_back(microseconds(end - begin));
  }
  lates_.push_back(microseconds(begin - due));
}

station::Answer Rig::obey(const std::string& station, const alerts::Asked& command) {
  const std::lock_guard lock{mutex_};
  commands_.push_back(station + " " + alerts::name_of(command));
  const auto* to_station = std::get_if<station::Command>(&command);
  for (station::Status& status : overview_.stations) {
    if (status.station != station || to_station == nullptr) {
      continue;
    }
    if (const auto* pause = std::get_if<station::Pause>(to_station)) {
      status.pause_remaining = pause->lasting;
    } else if (std::holds_alternative<station::Resume>(*to_station)) {
      status.pause_remaining = {};
    } else if (const auto* set = std::get_if<station::SetDayVolume>(to_station)) {
      status.day_volume = set->volume;
    }
  }
  return {station::Answer::Verdict::accepted, "Done."};
}

void Rig::change(const std::function<void(station::Overview&)>& how) {
  const std::lock_guard lock{mutex_};
  how(overview_);
}

std::vector<std::string> Rig::commands() const {
  const std::lock_guard lock{mutex_};
  return commands_;
}

std::vector<std::string> Rig::events() const {
  const std::lock_guard lock{mutex_};
  return events_;
}

std::string Rig::newest_input() const {
  const std::lock_guard lock{mutex_};
  return newest_input_;
}

int Rig::count_events(const std::string& part) const {
  const auto all = events();
  return static_cast<int>(std::count_if(all.begin(), all.end(), [&](const std::string& event) {
    return event.find(part) != std::string::npos;
  }));
}

Rig::Pace Rig::pace() {
  std::vector<double> shows;
  std::vector<double> lates;
  {
    const std::lock_guard lock{mutex_};
    shows.swap(shows_);
    lates.swap(lates_);
  }
  std::sort(shows.begin(), shows.end());
  std::sort(lates.begin(), lates.end());
  return {lates.size(),
          shows.size(),
          percentile(shows, 0.5),
          percentile(shows, 0.99),
          percentile(shows, 1.0),
          percentile(lates, 0.5),
          percentile(lates, 0.99),
          percentile(lates, 1.0)};
}

bool Rig::wait_for_ticks(std::size_t ticks) {
  const auto so_far = [this] {
    const std::lock_guard lock{mutex_};
    return ticks_;
  };
  const std::size_t wanted = so_far() + ticks;
  return wait_until([&] { return so_far() >= wanted; });
}

mqtt::Settings Rig::settings(int port) {
  mqtt::Settings settings;
  settings.host = "localhost";
  settings.port = port;
  settings.publish_every = 200ms;
  settings.keep_alive = 60s;       // a busy machine is not away
  settings.begins_within = 300ms;  // a probe of "frag" never says anything
  settings.back_off_first = 100ms;
  settings.back_off_max = 1s;
  settings.back_off_taken_over = 3s;
  return settings;
}

station::Overview Rig::overview() {
  station::Overview overview;
  overview.started = WallTime{std::chrono::seconds{1795590000}};
  overview.stations = {status_of("reef"), status_of("frag")};
  overview.stations[0].gate_open = true;
  overview.stations[0].next_pulse_in = 4min;
  overview.stations[0].last_given = {overview.started, Millilitres{14.0}};
  overview.stations[0].given_in_all = Millilitres{12345.6};
  overview.stations[0].powder = care::Powder{{60.0, 108.0}, care::Interval{40.0, 72.0}, {}};
  overview.stations[0].away = {overview.at.wall + std::chrono::hours{24}, Millilitres{700.0}};
  overview.stations[0].usual_ph = Ph{8.214};
  overview.stations[0].usual_effect = 0.975;
  overview.stations[0].reference = Ph{8.125};
  overview.stations[0].above_reference = PhChange{0.0625};
  overview.stations[0].inputs = {{"sump-low", "", rules::Input::Kind::digital, 1.0, 2s},
                                 {"turbidity", "NTU", rules::Input::Kind::analogue, 0.125, 9s}};
  station::Status& held = overview.stations[1];
  held.ph = {};  // never heard of
  held.given_day = kCountsAsFull;
  held.holds = {{"ph-missing", "The pH probe has not answered since the start.",
                 rules::Clears::by_itself, overview.started},
                {"paused", "Paused by the keeper for another 90 min.", rules::Clears::by_itself,
                 overview.started}};
  held.pause_remaining = 90min;
  held.pauses = {{station::Origin::afar, overview.started + 90min}};
  held.alerts = {
      test::alert("ph-missing", "The pH probe of frag is missing for long.", overview.started)};
  return overview;
}

}  // namespace limegate::test
