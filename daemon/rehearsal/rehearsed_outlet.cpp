#include "rehearsal/rehearsed_outlet.h"

#include <chrono>
#include <utility>

namespace limegate::rehearsal {
namespace {

constexpr Duration kNeverEnds = std::chrono::hours{24 * 3660};

}  // namespace

void RehearsedOutlet::answer(const Condition& now, Reply reply) {
  const ports::OutletState state = parts_.tank.state(parts_.part);
  ports::OutletAnswer what{
      ports::OutletReading{state, state == ports::OutletState::off ? now.off_since : std::nullopt}};
  if (now.silent || now.replies_lost) {
    what = tl::unexpected(ports::OutletFault{ports::Sent::maybe, ports::BusFault::timed_out});
  }
  parts_.post_answer([what, reply = std::move(reply)] { reply(what); });
}

void RehearsedOutlet::run_for(Duration duration, Instant send_before, Reply reply) {
  if (!parts_.acts()) {
    return;
  }
  if (parts_.clock.now().mono >= send_before) {
    parts_.post([reply = std::move(reply)] {
      reply(tl::unexpected(ports::OutletFault{ports::Sent::no, ports::BusFault::timed_out}));
    });
    return;
  }
  parts_.commanded(duration);
  const Condition now = parts_.condition();
  if (!now.silent && !now.welded && !now.dead) {
    parts_.tank.run_for(parts_.part, now.timer_fails ? kNeverEnds : duration);
  }
  answer(now, std::move(reply));
}

void RehearsedOutlet::off(Reply reply) {
  if (!parts_.acts()) {
    return;
  }
  const Condition now = parts_.condition();
  if (!now.silent && !now.welded) {
    parts_.tank.off(parts_.part);
  }
  answer(now, std::move(reply));
}

void RehearsedOutlet::read_back(Reply reply) {
  if (parts_.lives()) {
    answer(parts_.condition(), std::move(reply));
  }
}

}  // namespace limegate::rehearsal
