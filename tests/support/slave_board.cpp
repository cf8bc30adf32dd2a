#include "support/slave_board.h"

namespace limegate::test {

std::uint16_t BoardOutlet::control_value() const {
  return commanded_ ? outlet_.on_value : outlet_.off_value;
}

Duration BoardOutlet::on_time(Instant now) const {
  return contact_ ? on_time_ + (now - on_since_) : on_time_;
}

void BoardOutlet::write_control(std::uint16_t value, Moment now, std::vector<OutletChange>& log) {
  if (defect_ == Defect::ignores_writes) {
    return;
  }
  if (value != outlet_.on_value && value != outlet_.off_value) {
    return;
  }
  timer_end_.reset();
  timer_value_ = 0;
  command(value == outlet_.on_value, now, ChangeCause::command, log);
}

void BoardOutlet::write_timer(std::uint16_t steps, Moment now, std::vector<OutletChange>& log) {
  if (defect_ == Defect::ignores_writes) {
    return;
  }
  timer_value_ = steps;
  timer_end_.reset();
  if (steps > 0 && defect_ != Defect::ignores_timer) {
    timer_end_ = now.mono + steps * outlet_.step;
  }
  command(steps > 0, now, ChangeCause::command, log);
}

void BoardOutlet::advance(Moment now, std::vector<OutletChange>& log) {
  if (!timer_end_ || *timer_end_ > now.mono) {
    return;
  }
  // The board ended it when it was due, however late somebody looks.
  const Moment due{*timer_end_, now.wall - (now.mono - *timer_end_)};
  switch_off(due, ChangeCause::timer, log);
}

void BoardOutlet::switch_off(Moment at, ChangeCause cause, std::vector<OutletChange>& log) {
  timer_end_.reset();
  timer_value_ = 0;
  command(false, at, cause, log);
}

void BoardOutlet::command(bool on, Moment at, ChangeCause cause, std::vector<OutletChange>& log) {
  commanded_ = on;
  const bool moves = on != contact_ && (on || defect_ != Defect::welded);
  if (!moves) {
    return;
  }
  if (on) {
    on_since_ = at.mono;
  } else {
    on_time_ += at.mono - on_since_;
  }
  contact_ = on;
  log.push_back({at, outlet_.unit, outlet_.address, on, cause});
}

}  // namespace limegate::test
