#include "units/rfc3339.h"

#include <chrono>
#include <cstddef>

namespace limegate {
namespace {

/// Reads a text from its front.
class Reading {
 public:
  explicit Reading(std::string_view text) : rest_(text) {}

  /// Exactly so many digits.
  int number(std::size_t digits) {
    int value = 0;
    for (std::size_t i = 0; i < digits; ++i) {
      if (!digit()) {
        failed_ = true;
        return 0;
      }
      value = 10 * value + (rest_.front() - '0');
      rest_.remove_prefix(1);
    }
    return value;
  }
  /// One of these; 0 where there is none of them.
  char one_of(std::string_view letters) {
    if (rest_.empty() || letters.find(rest_.front()) == std::string_view::npos) {
      failed_ = true;
      return 0;
    }
    const char found = rest_.front();
    rest_.remove_prefix(1);
    return found;
  }
  /// ".25", or nothing. To the nanosecond.
  Duration fraction() {
    Duration value{};
    if (rest_.empty() || rest_.front() != '.') {
      return value;
    }
    rest_.remove_prefix(1);
    failed_ = failed_ || !digit();
    for (Duration place = std::chrono::milliseconds{100}; digit(); place /= 10) {
      value += place * (rest_.front() - '0');
      rest_.remove_prefix(1);
    }
    return value;
  }
  [[nodiscard]] bool sound() const { return !failed_ && rest_.empty(); }

 private:
  [[nodiscard]] bool digit() const {
    return !rest_.empty() && rest_.front() >= '0' && rest_.front() <= '9';
  }
  std::string_view rest_;
  bool failed_ = false;
};

}  // namespace

std::optional<WallTime> parse_rfc3339(std::string_view text) {
  using std::chrono::hours, std::chrono::minutes, std::chrono::seconds;
  Reading reading{text};
  const int year = reading.number(4);
  reading.one_of("-");
  const int month = reading.number(2);
  reading.one_of("-");
  const int day = reading.number(2);
  reading.one_of("Tt ");
  const int hour = reading.number(2);
  reading.one_of(":");
  const int minute = reading.number(2);
  reading.one_of(":");
  const int second = reading.number(2);
  const Duration fraction = reading.fraction();
  const char sign = reading.one_of("Zz+-");
  Duration offset{};
  bool offset_sound = true;
  if (sign == '+' || sign == '-') {
    const int offset_hour = reading.number(2);
    reading.one_of(":");
    const int offset_minute = reading.number(2);
    offset_sound = offset_hour < 24 && offset_minute < 60;
    offset = (sign == '+' ? 1 : -1) * (hours{offset_hour} + minutes{offset_minute});
  }
  const std::chrono::year_month_day date{std::chrono::year{year},
                                         std::chrono::month{static_cast<unsigned>(month)},
                                         std::chrono::day{static_cast<unsigned>(day)}};
  // A second of 60 is a leap second.
  if (!reading.sound() || !date.ok() || year < 2000 || year > 2199 || hour > 23 || minute > 59 ||
      second > 60 || !offset_sound) {
    return std::nullopt;
  }
  return WallTime{std::chrono::sys_days{date}} + hours{hour} + minutes{minute} + seconds{second} +
         fraction - offset;
}

}  // namespace limegate
