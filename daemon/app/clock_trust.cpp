#include "app/clock_trust.h"

#include <chrono>
#include <cmath>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <utility>

#include <sys/timex.h>
#include <systemd/sd-bus.h>

namespace limegate::app {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr auto kLookEvery = 10s;
constexpr std::uint64_t kBusWithinUs = 2'000'000;
/// A clock that was set from the real-time clock differs from it by no more.
constexpr std::int64_t kRtcAgreesS = 120;

/// The kernel's own word, whoever keeps it right; refused to a hardened service.
/// Source: adjtimex(2): TIME_ERROR while nobody has synchronised the clock.
bool kernel_says_synchronised() {
  timex asked{};
  const int state = ::adjtimex(&asked);
  return state >= 0 && state != TIME_ERROR && (asked.status & STA_UNSYNC) == 0;
}

/// The same, asked on behalf of those who may not.
/// Source: org.freedesktop.timedate1(5), NTPSynchronized.
bool timedated_says_synchronised() {
  sd_bus* bus = nullptr;
  int synchronised = 0;
  if (sd_bus_open_system(&bus) >= 0) {
    (void)sd_bus_set_method_call_timeout(bus, kBusWithinUs);
    if (sd_bus_get_property_trivial(bus, "org.freedesktop.timedate1", "/org/freedesktop/timedate1",
                                    "org.freedesktop.timedate1", "NTPSynchronized", nullptr, 'b',
                                    &synchronised) < 0) {
      synchronised = 0;
    }
  }
  sd_bus_flush_close_unref(bus);
  return synchronised != 0;
}

bool rtc_agrees(const std::string& clocks, const std::string& rtc) {
  std::int64_t epoch = 0;
  const bool read = static_cast<bool>(std::ifstream{clocks + "/" + rtc + "/since_epoch"} >> epoch);
  const auto now = std::chrono::duration_cast<std::chrono::seconds>(
      std::chrono::system_clock::now().time_since_epoch());
  return read && std::abs(now.count() - epoch) <= kRtcAgreesS;
}

bool person_said_so(const std::string& file, const std::string& boot) {
  std::string of_boot;
  return static_cast<bool>(std::ifstream{file} >> of_boot) && of_boot == boot;
}

}  // namespace

ClockTrust::ClockTrust(Sources sources) : sources_(std::move(sources)), trusted_(seen_at_hand()) {
  if (!trusted_) {
    thread_ = std::thread{[this] { look_on(); }};
  }
}

ClockTrust::~ClockTrust() {
  {
    const std::lock_guard lock{mutex_};
    ending_ = true;
  }
  ended_.notify_all();
  if (thread_.joinable()) {
    thread_.join();
  }
}

bool ClockTrust::seen_at_hand() const {
  std::error_code ignored;
  return (sources_.kernel == Sources::Kernel::asked && kernel_says_synchronised()) ||
         std::filesystem::exists(sources_.time_service, ignored) ||
         (!sources_.rtc.empty() && rtc_agrees(sources_.clocks, sources_.rtc)) ||
         (!sources_.note.empty() && person_said_so(sources_.note, sources_.boot));
}

void ClockTrust::look_on() {
  std::unique_lock lock{mutex_};
  while (!ending_) {
    lock.unlock();
    const bool service = sources_.kernel == Sources::Kernel::asked && timedated_says_synchronised();
    const bool seen = service || seen_at_hand();
    lock.lock();
    if (seen) {
      trusted_ = true;
      return;
    }
    ended_.wait_for(lock, kLookEvery, [this] { return ending_; });
  }
}

bool ClockTrust::note_word(const std::string& file, const std::string& boot) {
  std::ofstream out{file};
  out << boot << '\n';
  out.close();
  return static_cast<bool>(out);
}

}  // namespace limegate::app
