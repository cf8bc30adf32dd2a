#include "modbus/relay.h"

#include <chrono>
#include <thread>

namespace limegate::modbus {
namespace {

using ports::BusFault;
using ports::OutletFault;
using ports::OutletState;
using ports::Sent;

/// No stir or pulse is allowed to be this long; it keeps an absurd number out of the deadline.
constexpr Duration kUntimedMax = std::chrono::hours{1};

bool is_register(Table table) {
  return table == Table::holding_register || table == Table::input_register;
}

/// The number a point holds when its switch is in `state`.
std::uint16_t number_for(const SwitchPoint& point, OutletState state) {
  const bool high = (state == OutletState::on) == (point.polarity == Polarity::active_high);
  if (is_register(point.table)) {
    return high ? point.register_on : point.register_off;
  }
  return high ? 1 : 0;
}

tl::unexpected<OutletFault> fault(Sent sent, BusFault cause) {
  return tl::unexpected{OutletFault{sent, cause}};
}

}  // namespace

Relay::Relay(const OutletSettings& settings, Devices& devices, const ports::Clock& clock)
    : settings_(settings), devices_(devices), clock_(clock) {}

Switched Relay::run_for(const Run& run) {
  const auto request = on_request(run.duration);
  if (!request) {
    return fault(Sent::no, BusFault::refused_by_device);
  }
  const auto still_wanted = [&] { return !run.withdrawn() && clock_.now().mono < run.send_before; };
  if (!still_wanted()) {
    return fault(Sent::no, BusFault::timed_out);
  }
  if (const auto ready = ensure_loss_timer(run.between); !ready) {
    return fault(Sent::no, ready.error().cause);
  }
  run.between();

  const auto send_if_wanted = [&] {
    if (!still_wanted()) {
      return false;
    }
    // Armed before the first byte, so that no outcome leaves an outlet on without an end.
    if (settings_.timed_on) {
      deadline_.reset();  // of an off that was owed before
    } else {
      deadline_ = std::chrono::steady_clock::now() + run.duration;
      off_since_.reset();
      run.armed();
    }
    return true;
  };
  const auto written = devices_.ask(*request, {Insistence::patient, send_if_wanted});
  if (!written) {
    return tl::unexpected{written.error()};
  }
  run.between();
  auto seen = read_settled(OutletState::on, Insistence::patient, run.pause);
  if (!seen) {
    return fault(Sent::maybe, seen.error().cause);
  }
  return seen;
}

Switched Relay::off() {
  const Terms insistent{Insistence::insistent, {}};
  const auto written = devices_.ask(control_request(OutletState::off), insistent);
  if (!written) {
    return tl::unexpected{written.error()};
  }
  auto seen = read_settled(OutletState::off, Insistence::insistent,
                           [](Duration wait) { std::this_thread::sleep_for(wait); });
  if (!seen) {
    return fault(Sent::maybe, seen.error().cause);
  }
  if (*seen == OutletState::off) {
    deadline_.reset();
    if (!settings_.timed_on && !off_since_) {
      off_since_ = clock_.now().mono;
    }
    seen->off_since = off_since_;
  }
  return seen;
}

Switched Relay::read_back(Insistence insistence) {
  const SwitchPoint& point = settings_.feedback ? *settings_.feedback : settings_.control;
  const auto answer =
      devices_.ask(read_request(settings_.unit, point.table, point.address, 1), {insistence, {}});
  if (!answer) {
    return fault(Sent::no, answer.error().cause);
  }
  const std::uint16_t number = answer->front();
  if (number == number_for(point, OutletState::on)) {
    off_since_.reset();
    return ports::OutletReading{OutletState::on};
  }
  if (number == number_for(point, OutletState::off)) {
    return ports::OutletReading{OutletState::off, off_since_};
  }
  // A register with neither number says nothing about the switch.
  return fault(Sent::no, BusFault::corrupt_reply);
}

Switched Relay::read_settled(OutletState wanted, Insistence insistence,
                             const std::function<void(Duration)>& pause) {
  // A separate feedback follows the contact, which moves some milliseconds after the command.
  constexpr int reads_max = 4;
  constexpr Duration read_gap = std::chrono::milliseconds{50};
  auto seen = read_back(insistence);
  for (int reads = 1; settings_.feedback && seen && *seen != wanted && reads < reads_max; ++reads) {
    pause(read_gap);
    seen = read_back(insistence);
  }
  return seen;
}

tl::expected<void, OutletFault> Relay::ensure_loss_timer(const std::function<void()>& between) {
  if (!settings_.communication_loss) {
    return {};
  }
  const auto& loss = *settings_.communication_loss;
  if (loss_timer_seen_ == devices_.contact(settings_.unit)) {
    return {};
  }
  const auto written = devices_.ask(write_register(settings_.unit, loss.address, loss.value), {});
  if (!written) {
    return tl::unexpected{written.error()};
  }
  const auto contact = devices_.contact(settings_.unit);
  between();
  const auto seen =
      devices_.ask(read_request(settings_.unit, Table::holding_register, loss.address, 1), {});
  if (!seen) {
    return tl::unexpected{seen.error()};
  }
  if (seen->front() != loss.value) {
    return fault(Sent::maybe, BusFault::refused_by_device);
  }
  loss_timer_seen_ = contact;
  return {};
}

std::optional<Request> Relay::on_request(Duration duration) const {
  if (duration <= Duration::zero()) {
    return std::nullopt;
  }
  if (!settings_.timed_on) {
    if (duration > kUntimedMax) {
      return std::nullopt;
    }
    return control_request(OutletState::on);
  }
  const auto steps = duration / settings_.timed_on->step;
  if (steps < 1 || steps > kTimerSteps) {
    return std::nullopt;
  }
  return write_register(settings_.unit, settings_.timed_on->address,
                        static_cast<std::uint16_t>(steps));
}

Request Relay::control_request(OutletState state) const {
  const SwitchPoint& control = settings_.control;
  const std::uint16_t number = number_for(control, state);
  if (is_register(control.table)) {
    return write_register(settings_.unit, control.address, number);
  }
  return write_coil(settings_.unit, control.address, number == 1 ? CoilValue::on : CoilValue::off);
}

}  // namespace limegate::modbus
