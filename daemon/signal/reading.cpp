#include "signal/reading.h"

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
