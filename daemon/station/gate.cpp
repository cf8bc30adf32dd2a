#include "station/gate.h"

#include <algorithm>
#include <utility>

namespace limegate::station {
namespace {

bool is_latch(const rules::Remembered& one) { return one.clears == rules::Clears::by_person; }

using Flag = bool rules::Memory::*;

/// The flags of the holds that are asked for each second, so that no row is looked at for it.
struct Flags {
  std::vector<Flag> latches, not_teaching, perhaps_flowing;
};
Flags flags_by_rows() {
  Flags flags;
  for (const rules::Remembered& one : rules::remembered()) {
    if (is_latch(one)) {
      flags.latches.push_back(one.flag);
    }
    if (one.teaches == rules::Teaches::no) {
      flags.not_teaching.push_back(one.flag);
    }
    if (one.flow == rules::Flow::perhaps_uncommanded) {
      flags.perhaps_flowing.push_back(one.flag);
    }
  }
  return flags;
}
const Flags kFlags = flags_by_rows();  // the rows are constants, so they stand before it

bool any_stands(const rules::Memory& memory, const std::vector<Flag>& flags) {
  return std::any_of(flags.begin(), flags.end(), [&](Flag flag) { return memory.*flag; });
}

const std::string& code_of(Flag flag) {
  return std::find_if(rules::remembered().begin(), rules::remembered().end(),
                      [&](const rules::Remembered& one) { return one.flag == flag; })
      ->code;
}

void note_latches(const rules::Memory& before, const rules::Memory& after, Effects& effects) {
  for (const Flag flag : kFlags.latches) {
    if (!(before.*flag) && after.*flag) {
      effects.emplace_back(StoreLatch{code_of(flag), StoreLatch::To::latched});
    }
  }
}

/// An owner's rule knows its own latch; any other code that no rule has holds as it stands.
void add_latches(const std::vector<std::string>& codes, rules::Memory& memory) {
  for (const std::string& code : codes) {
    const auto known = std::find_if(
        rules::remembered().begin(), rules::remembered().end(),
        [&](const rules::Remembered& one) { return is_latch(one) && one.code == code; });
    if (known != rules::remembered().end()) {
      memory.*known->flag = true;
    } else if (!code.starts_with(rules::owner_code("")) &&
               std::find(memory.unknown_latches.begin(), memory.unknown_latches.end(), code) ==
                   memory.unknown_latches.end()) {
      memory.unknown_latches.push_back(code);
    }
  }
}

rules::Memory memory_of(const History& history) {
  rules::Memory memory;
  add_latches(history.latches, memory);
  memory.unsure = {true, true, true, history.reference.share < 1.0};
  return memory;
}

Answer refused(std::string sentence) { return {Answer::Verdict::refused, std::move(sentence)}; }

}  // namespace

Gate::Gate(const Settings& settings, const History& history, Instant now)
    : limits_(settings.limits),
      stirrer_(settings.stirrer),
      memory_(memory_of(history)),
      owner_(settings.owner, history.latches, now) {}

void Gate::add(const std::vector<std::string>& latches) { add_latches(latches, memory_); }

void Gate::take_up(const SeenBefore& seen, Judges judges) {
  memory_.disagreement_tripped = seen.disagreed && judges.two_probes;
  if (!judges.course) {
    return;  // without it neither of these is judged, and what was tripped would never clear
  }
  memory_.unusual_climb_tripped = seen.climb_at_rest.has_value();
  memory_.climb_at_rest = seen.climb_at_rest;
  if (judges.reference) {
    memory_.risen_tripped = seen.risen;
    memory_.unsure.risen = false;
  }
}

void Gate::leave(SeenBefore& seen) const {
  seen.climb_at_rest = memory_.climb_at_rest;
  seen.risen = memory_.risen_tripped;
  seen.disagreed = memory_.disagreement_tripped;
}

Gate::Verdict Gate::judge(Moment now, const rules::Snapshot& known, Effects& effects) {
  rules::Judgement judgement = rules::judge(now.mono, known, limits_, memory_);
  owner_.step(now, known, judgement.holds, effects);
  note_stuck_again(now, known, effects);
  note_latches(memory_, judgement.memory, effects);
  const Verdict verdict{judgement.open(), judgement.ends_pulse()};
  memory_ = std::move(judgement.memory);
  note_changes(now, std::move(judgement.holds), effects);
  return verdict;
}

rules::Holds Gate::holds_for(Instant now, const rules::Snapshot& known) const {
  rules::Holds holds = rules::judge(now, known, limits_, memory_).holds;
  holds.insert(holds.end(), owner_.holds().begin(), owner_.holds().end());
  return holds;
}

bool Gate::closes(double raw_ph) {
  const bool closes = rules::raw_ph_closes(raw_ph, limits_);
  memory_.ceiling_tripped = memory_.ceiling_tripped || closes;
  return closes;
}

void Gate::switch_off(Effects& effects) {
  if (!std::exchange(memory_.switched_off_latched, true)) {
    effects.emplace_back(StoreLatch{rules::code_of(rules::SwitchedOff{}), StoreLatch::To::latched});
  }
}

Gate::Release Gate::release(const std::string& code, const rules::Snapshot& known,
                            Effects& effects) {
  if (auto answer = owner_.release(code, effects)) {
    return {*std::move(answer), {}};
  }
  if (std::erase(memory_.unknown_latches, code) > 0) {
    effects.emplace_back(StoreLatch{code, StoreLatch::To::released});
    return {{Answer::Verdict::accepted, "Released: " + code + "."}, {}};
  }
  const auto latch = std::find_if(rules::remembered().begin(), rules::remembered().end(),
                                  [&](const rules::Remembered& one) {
                                    return is_latch(one) && one.code == code && memory_.*one.flag;
                                  });
  if (latch == rules::remembered().end()) {
    return {refused("There is no latched hold '" + code +
                    "'. Other holds go by themselves when their cause is gone."),
            {}};
  }
  if (const std::string still = rules::still_there(latch->hold, {known, memory_, limits_});
      !still.empty()) {
    return {refused("Its cause is not gone: " + still + "."), {}};
  }
  memory_.*latch->flag = false;
  effects.emplace_back(StoreLatch{code, StoreLatch::To::released});
  return {{Answer::Verdict::accepted,
           "Released: " + code + ". If its cause comes again, so does the hold."},
          latch->hold};
}

std::vector<std::string> Gate::latches() const {
  std::vector<std::string> codes = owner_.latches();
  codes.insert(codes.end(), memory_.unknown_latches.begin(), memory_.unknown_latches.end());
  for (const rules::Remembered& one : rules::remembered()) {
    if (is_latch(one) && memory_.*one.flag) {
      codes.push_back(one.code);
    }
  }
  return codes;
}

rules::Teaches Gate::teaches() const {
  return any_stands(memory_, kFlags.not_teaching) ? rules::Teaches::no : rules::Teaches::yes;
}

bool Gate::water_holds() const {
  return teaches() == rules::Teaches::no || memory_.risen_tripped ||
         memory_.effect_too_large_latched;
}

bool Gate::holds_beside_course() const {
  return memory_.unusual_climb_tripped || memory_.climb_goes_on_latched || memory_.risen_tripped;
}

bool Gate::stirrer_rests() const {
  return any_stands(memory_, kFlags.perhaps_flowing) || memory_.switched_off_latched;
}

}  // namespace limegate::station
