#include "alerts/verdict.h"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "alerts/kind.h"
#include "alerts/record.h"
#include "rules/for_people.h"
#include "rules/hold.h"

namespace limegate::alerts {
namespace {

using station::Alert;
using station::Status;

/// The first one of this urgency that stands.
const Alert* first_of(const std::vector<Alert>& alerts, Urgency urgency) {
  const auto found = std::find_if(alerts.begin(), alerts.end(), [&](const Alert& alert) {
    return kind_of(alert.id).urgency == urgency &&
           alert.state != name_of(State::returned_unacknowledged);
  });
  return found == alerts.end() ? nullptr : &*found;
}

std::string held(const Status& status) {
  const std::size_t more = status.holds.size() - 1;
  return fmt::format("Dosing waits: {}{}", status.holds.front().sentence,
                     more == 0 ? "" : fmt::format(" ({} more.)", more));
}

/// Of what may stand longer than the pause, the first.
std::string paused(const Status& status) {
  const std::string remaining = rules::for_people(status.pause_remaining);
  const auto other = std::find_if(
      status.holds.begin(), status.holds.end(),
      [](const Status::Held& hold) { return hold.code != rules::code_of(rules::Paused{}); });
  return other == status.holds.end() ? fmt::format("Paused: dosing goes on in {}.", remaining)
                                     : fmt::format("Paused for another {}. Dosing waits also: {}",
                                                   remaining, other->sentence);
}

std::string well(const Status& status) {
  if (status.pump == station::PumpDuty::Phase::running) {
    return fmt::format("Dosing: {} flow now.", rules::volume_for_people(status.pulse_volume));
  }
  if (!(status.day_volume > Millilitres{0.0} || status.pulse_volume > Millilitres{0.0})) {
    return "Nothing is dosed: the day's volume is set to 0 mL.";
  }
  if (status.next_pulse_in) {
    return fmt::format("All is well: {} come in {}.", rules::volume_for_people(status.pulse_volume),
                       rules::for_people(*status.next_pulse_in));
  }
  return status.pulse_volume > Millilitres{0.0}
             ? "All is well: the next pulse comes after the next stir has settled."
             : "All is well: nothing more is planned.";
}

}  // namespace

const char* name_of(Verdict::Standing standing) {
  constexpr std::array names{"needs-a-person", "held", "paused", "well"};
  return names.at(static_cast<std::size_t>(standing));
}

Verdict verdict_of(const Status& status) {
  using Standing = Verdict::Standing;
  for (const Urgency urgency : {Urgency::act_now, Urgency::act_today}) {
    if (const Alert* alert = first_of(status.alerts, urgency)) {
      return {Standing::needs_a_person, alert->sentence, alert->action};
    }
  }
  if (status.pause_remaining > Duration::zero()) {
    return {Standing::paused, paused(status), ""};
  }
  if (!status.holds.empty()) {
    return {Standing::held, held(status), ""};
  }
  return {Standing::well, well(status), ""};
}

}  // namespace limegate::alerts
