#include <cmath>
#include <deque>
#include <optional>
#include <random>
#include <set>

#include <gtest/gtest.h>

#include "station/driven.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Command = OutletReport::Command;
using Result = OutletReport::Result;
using rules::OutletRole;

/// A world in bad order: answers come late and in any order, outcomes are at random, probes fail
/// and jump, the ledger breaks, the wall clock is stepped. It keeps what truly happened and checks,
/// at each command, what must hold however bad the world is.
class BadWorld {
 public:
  explicit BadWorld(unsigned seed) : random_(seed) {}

  void second() {
    now_.mono += 1s;
    now_.wall += 1s;
    if (chance(20000)) {
      now_.wall += std::chrono::hours{std::uniform_int_distribution<int>{-9000, 9000}(random_)};
    }
    stop_what_ended();
    readings();
    if (chance(3000)) {
      carry(core_.observe(now_, LedgerFault{"by the test"}));
      ledger_sound_ = false;
    } else if (!ledger_sound_ && chance(60)) {
      ledger_sound_ = true;
      carry(core_.observe(now_, LedgerSound{}));
    }
    if (chance(5000)) {
      carry(core_.observe(now_, KeeperPauses{10min}));
    }
    carry(core_.step(now_), From::step);
    for (int i = 0; i < 4 && !waiting_.empty() && !chance(4); ++i) {
      const auto index =
          std::uniform_int_distribution<std::size_t>{0, waiting_.size() - 1}(random_);
      const Observation next = waiting_[index];
      waiting_.erase(waiting_.begin() + static_cast<std::ptrdiff_t>(index));
      carry(core_.observe(now_, next));
    }
  }
  [[nodiscard]] int pulses() const { return static_cast<int>(sent_.size()); }

 private:
  enum class From { step, observation };
  struct Flow {
    Instant from, to;
  };

  bool chance(int one_in) { return std::uniform_int_distribution<int>{1, one_in}(random_) == 1; }

  void stop_what_ended() {
    if (pump_until_ && now_.mono >= *pump_until_) {
      flows_.back().to = *pump_until_;
      pump_until_.reset();
    }
    if (stirrer_until_ && now_.mono >= *stirrer_until_) {
      rested_since_ = *stirrer_until_;
      stirrer_until_.reset();
    }
  }

  void readings() {
    if (chance(2000)) {
      probe_fails_until_ = now_.mono + 30s;
    }
    const bool fails = now_.mono < probe_fails_until_;
    ph_ += std::uniform_real_distribution<double>{-0.003, 0.003}(random_) + (8.25 - ph_) * 0.001;
    const double shown = chance(5000) ? std::nan("") : ph_;
    carry(core_.observe(now_,
                        ProbeSample{rules::Role::ph, fails ? std::nullopt : std::optional{shown}}));
    carry(
        core_.observe(now_, ProbeSample{rules::Role::temperature, 25 + 0.1 * std::sin(ph_ * 30)}));
  }

  void carry(const Effects& effects, From from = From::observation) {
    for (const Effect& effect : effects) {
      if (const auto* pulse = std::get_if<AppendPulse>(&effect)) {
        durable_.insert(pulse->pulse.id);
        waiting_.emplace_back(PulseDurable{pulse->pulse.id});
      } else if (const auto* stir = std::get_if<AppendStir>(&effect)) {
        waiting_.emplace_back(StirDurable{stir->stir.id});
      } else if (const auto* close = std::get_if<ClosePulse>(&effect)) {
        EXPECT_FALSE(pump_until_ && close->fate != Fate::given) << "closed while it may flow";
      } else if (const auto* run = std::get_if<Run>(&effect)) {
        EXPECT_EQ(from, From::step) << "only a step energises";
        execute(*run);
      } else if (const auto* off = std::get_if<SwitchOff>(&effect)) {
        switch_off(off->role);
        waiting_.emplace_back(
            OutletReport{off->role, Command::off, chance(10) ? Result::unknown : Result::off, ""});
      } else if (const auto* look = std::get_if<ReadBack>(&effect)) {
        const bool on =
            look->role == OutletRole::pump ? pump_until_.has_value() : stirrer_until_.has_value();
        waiting_.emplace_back(
            OutletReport{look->role, Command::read_back,
                         chance(20) ? Result::unknown : (on ? Result::on : Result::off), ""});
      }
    }
  }

  void execute(const Run& run) {
    const int outcome = std::uniform_int_distribution<int>{0, 9}(random_);
    const bool carried_out = outcome < 8;
    if (run.role == OutletRole::pump) {
      EXPECT_TRUE(durable_.count(run.id) == 1) << "sent before it was written";
      EXPECT_TRUE(sent_.insert(run.id).second) << "sent twice";
      EXPECT_FALSE(stirrer_until_.has_value()) << "dosed while stirring";
      EXPECT_FALSE(rested_since_ && now_.mono - *rested_since_ < 20min) << "dosed too soon";
      if (carried_out) {
        flows_.push_back({now_.mono, now_.mono + run.duration});
        pump_until_ = now_.mono + run.duration;
      }
    } else {
      EXPECT_FALSE(pump_until_.has_value()) << "stirred while dosing";
      if (carried_out) {
        stirrer_until_ = now_.mono + run.duration;
      }
    }
    const Result told = !carried_out && outcome == 9 ? Result::refused
                        : outcome >= 7               ? Result::unknown
                                                     : Result::on;
    waiting_.emplace_back(OutletReport{run.role, Command::run, told, ""});
    check_windows();
  }

  void switch_off(OutletRole role) {
    if (role == OutletRole::pump && pump_until_) {
      flows_.back().to = now_.mono;
      pump_until_.reset();
    } else if (role == OutletRole::stirrer && stirrer_until_) {
      stirrer_until_.reset();
      rested_since_ = now_.mono;
    }
  }

  void check_windows() {
    while (!flows_.empty() && now_.mono - flows_.front().to > 24h) {
      flows_.pop_front();
    }
    double hour = 0;
    double day = 0;
    for (const Flow& flow : flows_) {
      const double ml = std::chrono::duration<double>(flow.to - flow.from).count();  // 60 mL/min
      day += ml;
      hour += flow.from > now_.mono - 1h ? ml : 0;
    }
    EXPECT_LE(hour, 300.0 + 0.01);
    EXPECT_LE(day, 2000.0 + 0.01);
  }

  std::mt19937 random_;
  Moment now_{Instant{1h}, WallTime{24h * 20000}};
  Station core_{Driven::settings(), {}, now_};
  std::deque<Observation> waiting_;
  std::set<std::int64_t> durable_;
  std::set<std::int64_t> sent_;
  std::deque<Flow> flows_;
  std::optional<Instant> pump_until_;
  std::optional<Instant> stirrer_until_;
  std::optional<Instant> rested_since_;
  Instant probe_fails_until_{};
  double ph_ = 8.2;
  bool ledger_sound_ = true;
};

TEST(RandomWalk, keeps_the_promises_in_any_world) {
  int pulses = 0;
  for (unsigned seed = 1; seed <= 12; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    BadWorld world{seed};
    for (int second = 0; second < 2 * 86400; ++second) {
      world.second();
      if (testing::Test::HasFailure()) {
        FAIL() << "at second " << second;
      }
    }
    pulses += world.pulses();
  }
  EXPECT_GT(pulses, 100) << "a walk that never doses shows nothing";
}

}  // namespace
}  // namespace limegate::station
