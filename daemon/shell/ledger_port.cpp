#include "shell/ledger_port.h"

namespace limegate::shell {
namespace {

constexpr const char* kAlert = "ledger-not-writable";

}  // namespace

station::Event ledger_failed(WallTime now, const std::string& why) {
  return {
      now, station::Severity::alert, kAlert,
      "The ledger can't be written (" + why +
          "). Dosing is held, and goes on by itself when it can be: look at the disk's room and "
          "health.",
      kAlert};
}

station::Event ledger_sound(WallTime now) {
  return {now,
          station::Severity::info,
          "ledger-sound",
          "The ledger was read again and can be written.",
          {},
          kAlert};
}

station::Event ledger_note(WallTime now, const std::string& note) {
  return {now, station::Severity::alert, "ledger", note};
}

}  // namespace limegate::shell
