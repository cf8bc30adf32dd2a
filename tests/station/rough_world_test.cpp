// A random walk through everything that may come late, twice, out of order, wrong or not at all.
// The promises are those of DESIGN: no milk, count first, never twice, sliding limits.

#include "station/rough_world.h"

#include <cmath>
#include <utility>

#include <gtest/gtest.h>

namespace limegate::station {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

void RoughWorld::see(const Observation& observation) {
  if (const auto* report = std::get_if<OutletReport>(&observation)) {
    const bool may_stir = report->role == rules::OutletRole::stirrer &&
                          (report->result == Result::on ||
                           (report->command == Command::run && report->result == Result::unknown));
    if (may_stir) {
      last_told_stirring_ = now_.mono;
    }
    unknowns += report->command == Command::run && report->result == Result::unknown ? 1U : 0U;
  }
  carry_out(core_.observe(now_, observation), false);
}

void RoughWorld::obey(const station::Command& command) {
  const Origin origin = chance(0.5) ? Origin::station : Origin::afar;
  const Station::Commanded done = core_.command(now_, command, origin);
  obeyed += done.answer.verdict == Answer::Verdict::accepted ? 1U : 0U;
  carry_out(done.effects, false);
}

void RoughWorld::carry_out(const Effects& effects, bool from_step) {
  for (const Effect& effect : effects) {
    promise(from_step || !std::holds_alternative<Run>(effect), "only a step energises");
    std::visit(
        [this](const auto& what) {
          if constexpr (requires { carry_out(what); }) {
            carry_out(what);
          }
        },
        effect);
  }
}

void RoughWorld::check_allowances(Millilitres next) {
  Millilitres hour = next;
  Millilitres day = next;
  for (const auto& [other, row] : rows_) {
    const Duration age = now_.mono - row.end;
    hour += age < 1h ? row.counted : Millilitres{};
    day += age < 24h ? row.counted : Millilitres{};
  }
  promise(hour <= settings().limits.hour + Millilitres{0.002}, "the sliding hour is kept");
  promise(day <= settings().limits.day + Millilitres{0.002}, "the sliding day is kept");
}

void RoughWorld::carry_out(const AppendPulse& append) {
  const std::int64_t id = append.pulse.id;
  // A row that a fault kept from being written is stated again, and what was found on grows;
  // nothing was sent for either.
  const bool again = rows_.count(id) == 1;
  promise(!again || sent_.count(id) == 0, "an id that was sent is not appended again");
  if (again) {
    rows_[id].counted = std::max(rows_[id].counted, append.pulse.volume);
  } else {
    if (append.pulse.duration > Duration::zero()) {
      check_allowances(append.pulse.volume);
    }
    const Duration until_end = append.pulse.end.lifetime - append.pulse.reserved.lifetime;
    rows_[id] = {append.pulse.volume, now_.mono + until_end};
  }
  const bool fails = chance(0.03);
  later(within(chance(0.1) ? 4s : 500ms), true, [this, id, fails] {
    if (fails) {
      see(LedgerFault{"no room"});
      later(5s + within(60s), true, [this] { see(LedgerSound{}); });
      return;
    }
    rows_[id].durable = true;
    see(PulseDurable{id});
    if (chance(0.1)) {
      see(PulseDurable{id});
    }
  });
}

void RoughWorld::carry_out(const ClosePulse& closed) {
  rows_[closed.id].counted = closed.counted;
  cut_short += closed.fate == Fate::cut_short ? 1U : 0U;
}

void RoughWorld::carry_out(const AppendStir& append) {
  newest_stir_ = append.stir.id;
  later(within(500ms), true, [this, id = append.stir.id] { see(StirDurable{id}); });
}

void RoughWorld::carry_out(const Run& run) {
  const bool pump = run.role == rules::OutletRole::pump;
  if (pump) {
    ++runs;
    promise(sent_.insert(run.id).second, "an id is sent once");
    promise(rows_.count(run.id) == 1 && rows_[run.id].durable, "a row is durable before its run");
    promise(now_.mono >= stirrer_.on_until, "the pump does not run while the stirrer does");
    promise(now_.mono - last_stirred_ >= 3min, "the limewater has truly settled");
    promise(!last_told_stirring_ || now_.mono - *last_told_stirring_ >= 3min,
            "the limewater has settled by what the core was told");
  } else {
    ++stirs;
    last_told_stirring_ = now_.mono;
    promise(now_.mono >= pump_.on_until, "the stirrer does not begin while the pump runs");
  }
  const bool lost = chance(0.05);
  const bool refused = !lost && chance(0.05);
  later(within(1500ms), false, [this, run, pump, lost, refused] {
    const bool carried_out = !refused && now_.mono < run.send_before && !(lost && chance(0.5));
    if (carried_out) {
      outlet(run.role).on_until = now_.mono + run.duration;
      outlet(run.role).running_id = pump ? run.id : 0;
    }
    answer_in_order(run.role, Command::run,
                    lost ? Result::unknown : (carried_out ? Result::on : Result::refused));
  });
}

void RoughWorld::carry_out(const SwitchOff& off) {
  const bool lost = chance(0.2);
  later(within(1s), false, [this, off, lost] {
    if (!lost || chance(0.5)) {
      outlet(off.role).on_until = std::min(outlet(off.role).on_until, now_.mono);
    }
    answer_in_order(off.role, Command::off, lost ? Result::unknown : Result::off);
  });
}

void RoughWorld::carry_out(const ReadBack& look) {
  later(within(1s), false, [this, look] {
    const bool on = now_.mono < outlet(look.role).on_until;
    const Result result = chance(0.1) ? Result::unknown : (on ? Result::on : Result::off);
    const OutletReport report{look.role, Command::read_back, result, ""};
    // Most come at once; some late, so that what they say is old.
    const Duration delay = chance(0.1) ? within(20s) : within(200ms);
    later(delay, true, [this, report] { see(report); });
  });
}

void RoughWorld::answer_in_order(rules::OutletRole role, Command command, Result result) {
  Instant& last = outlet(role).last_answer;
  last = std::max(last, now_.mono + within(chance(0.1) ? 5s : 200ms));
  later(last - now_.mono, true, [this, role, command, result] {
    see(OutletReport{role, command, result, "the world's"});
  });
}

void RoughWorld::flow(Duration lasting) {
  const Instant end = now_.mono + lasting;
  if (pump_.running_id != 0 && now_.mono < pump_.on_until) {
    const double minutes =
        std::chrono::duration<double, std::ratio<60>>(std::min(end, pump_.on_until) - now_.mono)
            .count();
    Row& row = rows_[pump_.running_id];
    row.flowed_ml += 10.0 * minutes;  // at the highest plausible rate
  }
  if (now_.mono < stirrer_.on_until) {
    last_stirred_ = std::min(end, stirrer_.on_until);
  }
}

void RoughWorld::pass_to(Instant end) {
  for (;;) {
    const auto next =
        std::min_element(events_.begin(), events_.end(), [](const Event& a, const Event& b) {
          return std::pair{a.at, a.order} < std::pair{b.at, b.order};
        });
    const bool any = next != events_.end() && next->at <= end;
    const Instant until = any ? std::max(next->at, now_.mono) : end;
    const Duration by = until - now_.mono;
    flow(by);
    now_.mono = until;
    now_.wall += by;
    for (const auto& [id, row] : rows_) {
      promise(row.flowed_ml <= row.counted.count() + 1e-6, "what flows is counted");
    }
    if (!any) {
      return;
    }
    const auto what = std::move(next->what);
    events_.erase(next);
    what();
  }
}

void RoughWorld::sample() {
  ph_ = std::clamp(ph_ + std::normal_distribution<>{0.0, 0.003}(random_), 8.1, 8.38);
  if (!chance(0.01)) {
    const double raw = chance(pump_.on_until > now_.mono ? 0.02 : 0.001)
                           ? 8.5
                           : (chance(0.001) ? std::nan("") : ph_);
    see(ProbeSample{rules::Role::ph, raw});
  } else {
    see(ProbeSample{rules::Role::ph, std::nullopt});
  }
  see(ProbeSample{rules::Role::temperature, 25.0 + std::normal_distribution<>{0.0, 0.05}(random_)});
}

void RoughWorld::disturb() {
  if (chance(0.0005)) {
    obey(Pause{within(10min)});
  }
  if (chance(0.0005)) {
    obey(Resume{});
  }
  if (chance(0.0001)) {
    obey(SetDayVolume{Millilitres{std::uniform_real_distribution<>{-10.0, 400.0}(random_)}});
  }
  if (chance(0.0002)) {
    obey(StirNow{});
  }
  if (chance(0.0002)) {
    obey(RunAttended{Millilitres{12.0}});
  }
  if (chance(0.0003)) {
    see(LedgerFault{"input/output error"});
    later(within(30s), true, [this] { see(LedgerSound{}); });
  }
  if (chance(0.001)) {
    now_.wall += chance(0.5) ? -within(40h) : within(40h);
  }
  if (chance(0.0003)) {
    restart();
  }
}

/// The process ends at once and begins anew. What is on the wire is carried out before that, and
/// nobody is there to hear the answers.
void RoughWorld::restart() {
  ++restarts;
  std::erase_if(events_, [](const Event& event) { return event.ours; });
  for (const std::vector<Event> on_the_wire = std::exchange(events_, {});
       const Event& event : on_the_wire) {
    event.what();
  }
  events_.clear();
  History history;
  for (const auto& [id, row] : rows_) {
    const Duration ago = now_.mono - row.end;
    history.doses.push_back({id, {row.end.time_since_epoch(), now_.wall - ago}, row.counted});
    history.newest_pulse_id = std::max(history.newest_pulse_id, id);
  }
  history.newest_stir_id = newest_stir_;
  core_ = Station{settings(), history, now_};
}

void RoughWorld::second() {
  pass_to(now_.mono + 1s);
  sample();
  disturb();
  carry_out(core_.step(now_), true);
}

namespace {

class RoughWorldTest : public testing::TestWithParam<unsigned> {};

TEST_P(RoughWorldTest, promises_are_kept_for_a_day) {
  RoughWorld world{GetParam()};
  for (int i = 0; i < 24 * 3600 && world.broken.empty(); ++i) {
    world.second();
  }
  for (const std::string& promise : world.broken) {
    ADD_FAILURE() << promise << ", seed " << GetParam();
  }
  // The walk must have been where it hurts.
  EXPECT_GT(world.runs, 10U);
  EXPECT_GT(world.stirs, 20U);
  EXPECT_GT(world.restarts, 0U);
  EXPECT_GT(world.obeyed, 0U);
  RecordProperty("runs", static_cast<int>(world.runs));
  RecordProperty("cut_short", static_cast<int>(world.cut_short));
  RecordProperty("unknown", static_cast<int>(world.unknowns));
}
INSTANTIATE_TEST_SUITE_P(, RoughWorldTest, testing::Range(1U, 5U));

}  // namespace
}  // namespace limegate::station
