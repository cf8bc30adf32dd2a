#pragma once

#include <algorithm>
#include <chrono>
#include <string>
#include <vector>

#include "rules/judge.h"

namespace limegate::rules {

/// Everything a judgement is made of. As built, nothing holds; each test spoils something.
struct Scene {
  Instant now{std::chrono::hours{10}};
  Snapshot known;
  Limits limits;
  Memory memory;

  Scene() {
    known.ph.value = known.ph.newest = 8.2;
    known.temperature.value = known.temperature.newest = 25.0;
    for (signal::Reading* reading : {&known.ph, &known.temperature}) {
      reading->quality = signal::Quality::good;
      reading->reason = signal::Reason::none;
      reading->age = std::chrono::seconds{1};
    }
    known.stirrer = {StirrerKnown::State::resting, now - std::chrono::hours{2}};
    known.pump_outlet = known.stirrer_outlet = OutletKnown::as_commanded;
    known.ledger_fault.reset();
    known.rise = PhChange{0.0};
    known.given_hour = known.next_pulse = Millilitres{10.0};
    known.given_day = Millilitres{100.0};
    limits.hour = Millilitres{40.0};
    limits.day = Millilitres{400.0};
    memory.proven = true;
  }

  [[nodiscard]] Judgement judged() const { return judge(now, known, limits, memory); }
  [[nodiscard]] std::vector<std::string> codes() const {
    std::vector<std::string> codes;
    for (const Hold& hold : judged().holds) {
      codes.emplace_back(code_of(hold));
    }
    std::sort(codes.begin(), codes.end());
    return codes;
  }
};

}  // namespace limegate::rules
