#pragma once

#include <functional>

#include "ports/clock.h"
#include "ports/outlet.h"
#include "simulator/tank.h"

namespace limegate::rehearsal {

/// An outlet of the simulated tank that can be broken.
/// Threads: one owner; replies go through `post`.
class RehearsedOutlet : public ports::Outlet {
 public:
  struct Condition {
    bool silent = false;       ///< nothing answers, nothing is carried out
    bool welded = false;       ///< off does nothing
    bool timer_fails = false;  ///< a run does not end by itself
  };
  struct Parts {
    simulator::Tank& tank;
    simulator::Tank::Part part;
    const ports::Clock& clock;
    std::function<void(std::function<void()>)> post;
    std::function<Condition()> condition;
    std::function<void(Duration)> commanded;  ///< a run was carried out
  };
  explicit RehearsedOutlet(Parts parts) : parts_(std::move(parts)) {}

  void run_for(Duration duration, Instant send_before, Reply reply) override;
  void off(Reply reply) override;
  void read_back(Reply reply) override;

 private:
  void answer(Reply reply);
  Parts parts_;
};

}  // namespace limegate::rehearsal
