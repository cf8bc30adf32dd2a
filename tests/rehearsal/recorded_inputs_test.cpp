// Promise 1 on recorded inputs: what the rules saw in rehearsals with random faults is judged again
// with one limit tightened, or one hold more. Nothing that was held before may then be permitted.
#include <chrono>
#include <vector>

#include <gtest/gtest.h>

#include "rehearsal/campaign.h"
#include "rehearsal/scene.h"
#include "rules/judge.h"

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using rules::Limits;
using rules::Snapshot;

struct Tighter {
  const char* name;
  void (*limits)(Limits&);
  void (*facts)(Snapshot&);
};

void same(Limits& /*limits*/) {}
void same(Snapshot& /*known*/) {}

const Tighter kTighter[] = {
    {"ceiling",
     [](Limits& l) {
       l.ceiling = l.ceiling - PhChange{0.15}, l.ceiling_resume = l.ceiling_resume - PhChange{0.15};
     },
     same},
    {"resume", [](Limits& l) { l.ceiling_resume = l.ceiling_resume - PhChange{0.1}; }, same},
    {"second_ceiling", [](Limits& l) { l.second_ceiling = l.second_ceiling - PhChange{0.25}; },
     same},
    {"climb", [](Limits& l) { l.climb = PhChange{0.05}; }, same},
    {"age", [](Limits& l) { l.reading_age_max = -1s; }, same},
    {"settle", [](Limits& l) { l.settle += 20min; }, same},
    {"proven", [](Limits& l) { l.proven = 3h; }, same},
    {"plausible_low", [](Limits& l) { l.ph_plausible_low = 8.15; }, same},
    {"plausible_high", [](Limits& l) { l.ph_plausible_high = 8.3; }, same},
    {"temperature_low", [](Limits& l) { l.temperature_plausible_low = 25.45; }, same},
    {"temperature_high", [](Limits& l) { l.temperature_plausible_high = 25.6; }, same},
    {"hour", [](Limits& l) { l.hour = l.hour * 0.4; }, same},
    {"day", [](Limits& l) { l.day = l.day * 0.7; }, same},
    {"one_hold_more", same,
     [](Snapshot& s) {
       // A made-up rule: nothing while the pH is below 8.2.
       if (s.ph.value < 8.2) {
         s.ledger_fault = "a rule more";
       }
     }},
    {"stirrer_unknown_while_warm", same,
     [](Snapshot& s) {
       if (s.temperature.value > 25.6) {
         s.stirrer.state = rules::StirrerKnown::State::unknown;
       }
     }},
};

/// One way to judge, with the memory that it has built up.
struct Judge {
  const Tighter* tighter;
  Limits limits;
  rules::Memory memory;
  std::size_t withheld = 0;
};

/// Judges all that one course shows the rules, with each of the judges beside the limits as they
/// are.
class Course {
 public:
  Course(std::uint64_t seed, std::vector<Judge>& judges) : judges_(judges) {
    scene_ = plan(24h * 8);
    scene_.tank.seed = seed;
    scene_.faults = random_faults(seed, scene_.lasting, scene_.settings);
    // An afternoon above the ceiling and an evening that comes down through its resume value.
    scene_.faults.push_back({Fault::Kind::ph_offset, 40h, 14h, 0.2});
    for (Judge& judge : judges_) {
      judge.limits = scene_.settings.limits;
      judge.tighter->limits(judge.limits);
      judge.memory = {};
    }
    scene_.each_second = [this](const station::Station& core, Moment now) { look(core, now); };
  }
  void run() { ASSERT_TRUE(Rehearsal{scene_}.run()); }
  [[nodiscard]] std::size_t permitted() const { return permitted_; }

 private:
  void look(const station::Station& core, Moment now) {
    const Snapshot seen = core.snapshot(now, scene_.settings.plan.pulse_max);
    const rules::Judgement base = rules::judge(now.mono, seen, scene_.settings.limits, memory_);
    memory_ = base.memory;
    permitted_ += base.open() ? 1U : 0U;
    for (Judge& judge : judges_) {
      Snapshot worse = seen;
      judge.tighter->facts(worse);
      const rules::Judgement verdict = rules::judge(now.mono, worse, judge.limits, judge.memory);
      judge.memory = verdict.memory;
      const bool subset =
          (!verdict.open() || base.open()) && (verdict.ends_pulse() || !base.ends_pulse());
      if (!subset && ++broken_ <= 3) {
        ADD_FAILURE() << judge.tighter->name << " permits at second "
                      << now.mono.time_since_epoch() / 1s << " what was held";
      }
      judge.withheld += base.open() && !verdict.open() ? 1U : 0U;
    }
  }

  std::vector<Judge>& judges_;
  Rehearsal::Plan scene_;
  rules::Memory memory_;
  std::size_t permitted_ = 0, broken_ = 0;
};

TEST(RecordedInputs, with_one_limit_tightened_permit_a_subset_at_every_step) {
  std::vector<Judge> judges;
  for (const Tighter& tighter : kTighter) {
    judges.push_back({&tighter, {}, {}});
  }
  std::size_t permitted = 0;
  for (const std::uint64_t seed : {1U, 2U, 3U, 4U}) {
    Course course{seed, judges};
    course.run();
    permitted += course.permitted();
  }
  EXPECT_GT(permitted, 100'000U);
  for (const Judge& judge : judges) {
    RecordProperty(judge.tighter->name, static_cast<int>(judge.withheld));
    EXPECT_GT(judge.withheld, 0U) << judge.tighter->name << " withheld nothing: no test of it";
  }
}

}  // namespace
}  // namespace limegate::rehearsal
