#include "station/history.h"

#include <algorithm>

namespace limegate::station {
namespace {

/// Priming and the first days take no more pulses than this.
constexpr std::int64_t kFewPulses = 50;

}  // namespace

bool well_formed_code(const std::string& code) {
  return !code.empty() && code.size() <= 64 && std::all_of(code.begin(), code.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-';
  });
}

std::optional<Instant> limewater_since(const History& history, Instant now) {
  if (!history.newest_given && history.newest_pulse_id == 0 && history.doses.empty()) {
    return std::nullopt;
  }
  return history.newest_given
             ? std::min(now, Instant{history.newest_given->lifetime - history.lifetime_before_boot})
             : now;
}

bool is_new(const History& history) {
  const bool said = std::any_of(history.wishes.begin(), history.wishes.end(), [](const Wish& wish) {
    return wish.what == Wish::What::volume_at_station;
  });
  const bool lost = history.newest_pulse_id == 0 && !history.doses.empty();
  return !said && !lost && history.newest_pulse_id < kFewPulses;
}

}  // namespace limegate::station
