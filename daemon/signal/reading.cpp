#include "signal/reading.h"

#include <algorithm>
#include <cstdlib>

namespace limegate::signal {

ProbeStatus status_of(const Reading& reading) {
  switch (reading.reason) {
    case Reason::none:
      return ProbeStatus::good;
    case Reason::unsteady:
      return ProbeStatus::function_check;
    case Reason::implausible:
      return ProbeStatus::out_of_specification;
    case Reason::missing:
    case Reason::no_communication:
    case Reason::stale:
    case Reason::not_a_number:
    case Reason::stuck:
      return ProbeStatus::failure;
  }
  std::abort();
}

const char* name_of(Quality quality) {
  switch (quality) {
    case Quality::good:
      return "good";
    case Quality::uncertain:
      return "uncertain";
    case Quality::bad:
      return "bad";
  }
  std::abort();
}

const char* name_of(Reason reason) {
  switch (reason) {
    case Reason::none:
      return "none";
    case Reason::missing:
      return "missing";
    case Reason::no_communication:
      return "no-communication";
    case Reason::stale:
      return "stale";
    case Reason::not_a_number:
      return "not-a-number";
    case Reason::implausible:
      return "implausible";
    case Reason::stuck:
      return "stuck";
    case Reason::unsteady:
      return "unsteady";
  }
  std::abort();
}

Reading higher_of(const Reading& a, const Reading& b) {
  const bool a_bad = a.quality == Quality::bad;
  const bool b_bad = b.quality == Quality::bad;
  if (a_bad || b_bad) {
    Reading usable = a_bad ? b : a;
    usable.quality = a_bad && b_bad ? Quality::bad : Quality::uncertain;
    return usable;
  }
  Reading higher = a.value < b.value ? b : a;
  higher.newest = std::max(a.newest, b.newest);
  higher.age = std::max(a.age, b.age);
  if (a.quality != b.quality) {
    const Reading& worse = a.quality == Quality::good ? b : a;
    higher.quality = worse.quality;
    higher.reason = worse.reason;
    higher.lasting = worse.lasting;
  }
  return higher;
}

const char* name_of(ProbeStatus status) {
  switch (status) {
    case ProbeStatus::good:
      return "good";
    case ProbeStatus::maintenance_required:
      return "maintenance-required";
    case ProbeStatus::out_of_specification:
      return "out-of-specification";
    case ProbeStatus::function_check:
      return "function-check";
    case ProbeStatus::failure:
      return "failure";
  }
  std::abort();
}

}  // namespace limegate::signal
