#pragma once

#include <atomic>
#include <condition_variable>
#include <mutex>
#include <string>
#include <thread>

namespace limegate::app {

/// Whether the machine's wall clock was set in this boot by something that knows the time: by a
/// time service, by a real-time clock that the owner's file names, or by a person's word. Boards
/// without a battery start with the time of their last shutdown.
/// Threads: one of its own, which looks every ten seconds until the answer is yes; it stays so for
/// this boot. `trusted` may be read from any.
class ClockTrust {
 public:
  struct Sources {
    std::string boot;       ///< id of this boot
    std::string note = {};  ///< file of a person's word; empty: none
    std::string rtc = {};   ///< such as "rtc0"; empty: the file names none
    /// The system's own, except in tests.
    std::string time_service = "/run/systemd/timesync/synchronized";
    std::string clocks = "/sys/class/rtc";
    enum class Kernel { asked, not_asked } kernel = Kernel::asked;
  };
  /// Looks at once; a service that must be asked over the system bus is asked from the thread.
  explicit ClockTrust(Sources sources);
  ~ClockTrust();
  ClockTrust(const ClockTrust&) = delete;
  ClockTrust(ClockTrust&&) = delete;
  ClockTrust& operator=(const ClockTrust&) = delete;
  ClockTrust& operator=(ClockTrust&&) = delete;

  [[nodiscard]] const std::atomic<bool>& trusted() const { return trusted_; }

  /// A person at the machine says that its clock is right. False if it can't be written.
  [[nodiscard]] static bool note_word(const std::string& file, const std::string& boot);

 private:
  [[nodiscard]] bool seen_at_hand() const;
  void look_on();

  Sources sources_;
  std::atomic<bool> trusted_;
  std::mutex mutex_;
  std::condition_variable ended_;
  bool ending_ = false;
  std::thread thread_;
};

}  // namespace limegate::app
