#include "rules/judge.h"

#include <algorithm>

#include "rules/families.h"

namespace limegate::rules {

Judgement judge(Instant now, const Snapshot& known, const Limits& limits, const Memory& memory) {
  Judgement out{{}, memory};
  judge_stirrer(now, known, limits, out.holds);
  // Beside the probes themselves, every rule goes by the one that shows more.
  std::optional<Snapshot> of_two;
  if (known.second_ph) {
    of_two = known;
    of_two->ph = counting_ph(known);
  }
  const Snapshot& counting = of_two ? *of_two : known;
  judge_probes(now, known, counting, limits, out);
  judge_water(now, counting, limits, out);
  judge_outlets(known, out);
  judge_kept(out);
  judge_allowance(known, limits, out.holds);
  judge_disturbance(now, known, out.holds);
  judge_pause(now, known, out.holds);
  judge_disk(now, known, out.holds);
  return out;
}

bool Judgement::ends_pulse() const {
  return std::any_of(holds.begin(), holds.end(),
                     [](const Hold& hold) { return reach(hold) == Reach::ends_pulse; });
}

}  // namespace limegate::rules
