#pragma once

#include <functional>
#include <optional>

#include "ports/clock.h"
#include "ports/outlet.h"
#include "simulator/tank.h"

namespace limegate::rehearsal {

/// An outlet of the simulated tank, behind a board that can be broken.
/// Threads: one owner; replies go through `post`.
class RehearsedOutlet : public ports::Outlet {
 public:
  struct Condition {
    bool silent = false;                    ///< nothing answers, nothing is carried out
    bool replies_lost = false;              ///< all is carried out, nothing answers
    bool welded = false;                    ///< off does nothing
    bool dead = false;                      ///< on does nothing
    bool timer_fails = false;               ///< a run does not end by itself
    std::optional<Instant> off_since = {};  ///< by the driver, where no board ends a run
  };
  struct Parts {
    simulator::Tank& tank;
    simulator::Tank::Part part;
    const ports::Clock& clock;
    /// Asked before each command, and before each look: a program that died sends nothing.
    std::function<bool()> acts, lives;
    std::function<void(std::function<void()>)> post, post_answer;
    std::function<Condition()> condition;
    /// A run was sent: the energising carries its own end.
    std::function<void(Duration)> commanded;
  };
  explicit RehearsedOutlet(Parts parts) : parts_(std::move(parts)) {}

  void run_for(Duration duration, Instant send_before, Reply reply) override;
  void off(Reply reply) override;
  void read_back(Reply reply) override;

 private:
  void answer(const Condition& now, Reply reply);
  Parts parts_;
};

}  // namespace limegate::rehearsal
