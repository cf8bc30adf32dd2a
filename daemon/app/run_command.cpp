#include "app/run_command.h"

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <limits>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include <boost/asio/io_context.hpp>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <unistd.h>

#include "app/control_commands.h"
#include "app/exit_code.h"
#include "app/log.h"
#include "app/mqtt_wiring.h"
#include "app/outlet_lock.h"
#include "app/page_wiring.h"
#include "app/rehearsed_past.h"
#include "app/runner.h"
#include "app/service_notice.h"
#include "app/state_dir.h"
#include "app/terminal.h"
#include "app/view.h"
#include "app/world.h"
#include "journal/happenings.h"
#include "web/control_server.h"

namespace limegate::app {
namespace {

constexpr auto kFrameEvery = std::chrono::milliseconds{500};
constexpr auto kPlainFrameEvery = std::chrono::seconds{5};
constexpr auto kPutEvery = std::chrono::seconds{5};
constexpr std::size_t kEventsShown = 8;

/// The daemon with what belongs to its broker.
station::Overview whole(World& world, const MqttWiring& mqtt) {
  station::Overview now = world.overview();
  mqtt.add_to(now);
  return now;
}

/// Draws the stations over and over: in place on a terminal, one below the other elsewhere.
class Screen {
 public:
  Screen(World& world, const MqttWiring& mqtt, const PageWiring& page)
      : world_(world), mqtt_(mqtt), page_(page) {}

  void draw() {
    const auto now = std::chrono::steady_clock::now();
    if (now < next_) {
      return;
    }
    const auto terminal = terminal_size();
    next_ = now + (terminal ? std::chrono::steady_clock::duration{kFrameEvery}
                            : std::chrono::steady_clock::duration{kPlainFrameEvery});
    std::string frame = view_of(whole(world_, mqtt_));
    frame += "Lately:\n" + view_of(world_.events().recent(), kEventsShown);
    if (const std::string place = page_.place(); !place.empty()) {
      frame += "\nThe page is at " + place + "\n";
    }
    if (terminal) {
      // The last two rows are that line's and the cursor's.
      const std::size_t rows = std::max<std::size_t>(terminal->rows, 2) - 2;
      frame = fmt::format("{}{}Ctrl-C stops it; every outlet is switched off first.\n",
                          kClearScreen, fitted(frame, {terminal->columns, rows}));
    }
    std::fputs((frame + (terminal ? "" : "\n")).c_str(), stdout);
    std::fflush(stdout);
  }

 private:
  World& world_;
  const MqttWiring& mqtt_;
  const PageWiring& page_;
  std::chrono::steady_clock::time_point next_;
};

/// What a start puts into the state directory for other commands: the control socket, and the
/// config for `limegate off`. Where the disk can't be written they come as soon as it can; and
/// again, should somebody remove the socket.
class Beside {
 public:
  explicit Beside(const GivenConfig& given)
      : given_(given), kept_(keep_last_valid(given.config.state_dir, given.text)) {}

  void put(web::ControlServer& control) {
    const auto now = std::chrono::steady_clock::now();
    if (now < next_) {
      return;
    }
    next_ = now + kPutEvery;
    if (!kept_ && keep_last_valid(given_.config.state_dir, given_.text)) {
      kept_ = true;
    } else if (!kept_ && !told_) {
      log_warning("The config could not be kept for 'limegate off': " + given_.config.state_dir +
                  " can't be written. It is tried again.");
    }
    if (!control.is_open()) {
      const auto open = control.listen(control_path(given_.config.state_dir));
      if (!open && !told_) {
        log_warning(open.error() + ". Dosing goes on without it, and it is tried again.");
      } else if (open && told_) {
        log_info("The control socket is open again.");
      }
    }
    told_ = !kept_ || !control.is_open();
  }

 private:
  const GivenConfig& given_;
  bool kept_;
  std::chrono::steady_clock::time_point next_;
  bool told_ = false;  ///< that something is missing
};

tl::expected<std::vector<web::ControlServer::Parts::Entry>, std::string> book_of(
    const World& world, const std::string& station, std::int64_t after) {
  const station::KeepersBook* book = world.book(station);
  if (book == nullptr) {
    return tl::unexpected(std::string{"A book is one station's: name it."});
  }
  std::vector<web::ControlServer::Parts::Entry> entries;
  for (const station::BookEntry& entry : book->entries()) {
    if (entry.number > after) {
      entries.push_back({entry, book->is_durable(entry.number)});
    }
  }
  return entries;
}

/// What comes and goes by the control socket.
web::ControlServer::Parts doors_to(World& world, const MqttWiring& mqtt) {
  return {
      [&world](const std::string& station, const alerts::Asked& command, const std::string& who) {
        return world.command(station, command, {station::Origin::station, who});
      },
      [&world, &mqtt] { return whole(world, mqtt); },
      [](const station::Overview& now) { return view_of(now); },
      [&world](const std::string& after) {
        return web::ControlServer::Parts::Messages{world.alerts().messages_after(after),
                                                   world.alerts().unseen(),
                                                   world.alerts().standing()};
      },
      [&world](const std::string& station, std::int64_t after) {
        return book_of(world, station, after);
      },
      [&world] { return world.alerts().test(); },
      [&world](const station::Event& event) { world.found_by_delivery(event); }};
}

/// What comes and goes by the page.
PageWiring::Doors doors_of_page(World& world, const MqttWiring& mqtt) {
  return {[&world, &mqtt] { return whole(world, mqtt); },
          [&world](const std::string& station, const alerts::Asked& command, station::Origin origin,
                   const std::string& who) {
            return world.command(station, command, {origin, who});
          }};
}

/// The last resort where a bus hangs while an outlet may be on: its line is freed by the end of
/// this process and by nothing else.
class Hung {
 public:
  explicit Hung(const GivenConfig& given) : given_(given) {}

  void tell(World& world, WallTime now) {
    if (!std::exchange(told_, true)) {
      world.events().raise(
          "", {now, station::Severity::alert, "bus-hangs",
               "A bus hangs, and an outlet may be on that is long due off. This process ends, and "
               "'limegate off' switches what it can reach. Look at the pump now.",
               "bus-hangs"});
    }
  }
  /// `limegate off` takes the place of this process, which can't be taken apart.
  [[noreturn]] void become_off() const {
    // Its lines go free, and it must not meet a control socket that nobody answers any more: some
    // library may have opened a file without close-on-exec.
    (void)::close_range(STDERR_FILENO + 1, std::numeric_limits<unsigned>::max(),
                        CLOSE_RANGE_CLOEXEC);
    ::execl("/proc/self/exe", "limegate", "off", given_.path.c_str(), "--state-dir",
            given_.config.state_dir.c_str(), "--after-hang", nullptr);
    ::_exit(kNotConfirmed);
  }

 private:
  const GivenConfig& given_;
  bool told_ = false;
};

/// One line for `systemctl status`.
std::string brief(const station::Overview& now) {
  std::vector<std::string> parts;
  parts.reserve(now.stations.size());
  for (const station::Status& status : now.stations) {
    parts.push_back(status.holds.empty()
                        ? fmt::format("{}: gate open", status.station)
                        : fmt::format("{}: held for {} {}", status.station, status.holds.size(),
                                      status.holds.size() == 1 ? "reason" : "reasons"));
  }
  return fmt::format("{}", fmt::join(parts, "; "));
}

int ended(bool all_off) {
  if (!all_off) {
    log_error("Stopped, but not every outlet is confirmed to be off. Look at the pump now.");
    return kNotConfirmed;
  }
  log_info("stopped outlets=off");
  return kFine;
}

}  // namespace

int run(const GivenConfig& given, Pace& pace, View view, Past past) {
  const config::Config& config = given.config;
  const auto state = StateDir::take(config.state_dir);
  if (!state) {
    log_error(state.error().what);
    return state.error().fault == StateDir::Fault::in_use ? kInUse : kNotConfirmed;
  }
  const auto outlets = OutletLock::take(config);
  if (!outlets) {
    log_error(outlets.error());
    return kInUse;
  }
  Beside beside{given};
  boost::asio::io_context loop{1};
  World world{loop, config, pace,
              past == Past::rehearsed ? rehearse_past(config, pace.clock()) : Tanks{}};
  if (view == View::log) {
    world.events().listen(log_event);
  }
  log_info(
      fmt::format("started stations={} state_dir={}", config.stations.size(), config.state_dir));
  // In the record it is where everything that stood before ends (journal/happenings.h).
  world.events().raise("", {pace.clock().now().wall, station::Severity::info, journal::kStarted,
                            "Limegate has started."});
  MqttWiring mqtt{loop, world, config};
  web::ControlServer control{loop, doors_to(world, mqtt)};
  beside.put(control);
  PageWiring page{loop, config, doors_of_page(world, mqtt)};
  Screen screen{world, mqtt, page};
  ServiceNotice notice;
  Hung hung{given};
  const auto after_tick = [&] {
    if (world.end_overdue()) {
      // The manager's watchdog ends this process, and runs `off` on the freed line.
      hung.tell(world, pace.clock().now().wall);
      if (!notice.watched()) {
        hung.become_off();
      }
      return;
    }
    if (view == View::screen) {
      screen.draw();
    }
    beside.put(control);
    control.tick();
    page.tick();
    mqtt.tick();
    notice.good_step([&] { return brief(world.overview()); });
  };
  const bool all_off =
      run_until_stopped(loop, world, pace, {after_tick, [&] { notice.stopping(); }});
  mqtt.stop();
  if (world.any_bus_hangs()) {
    hung.tell(world, pace.clock().now().wall);
    hung.become_off();
  }
  return ended(all_off);
}

}  // namespace limegate::app
