#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "rules/hold.h"
#include "units/time.h"
#include "units/time_of_day.h"

namespace limegate::rules {

/// Something that the owner's rules may look at.
struct Input {
  std::string name;  ///< a-z, 0-9 and '-'
  enum class Kind { digital, analogue } kind = Kind::analogue;
  std::string unit = {};  ///< for people: "cm"; empty: none
  Duration age_max{};     ///< what is older says nothing
  double usual = 0;       ///< when all is well; 0 or 1 of a digital one. Simulated stations show it
};

/// An input as surfaces show it.
struct InputShown {
  std::string name, unit;
  Input::Kind kind = Input::Kind::analogue;
  std::optional<double> value = {};  ///< absent: nothing that makes sense came, or it is too old
  Duration age{};                    ///< of the newest that made sense, or since the start
  friend bool operator==(const InputShown&, const InputShown&) = default;
};

/// What is known of an input at one moment. A value that is not a number is an answer that makes no
/// sense: then, too, nothing is known.
struct InputKnown {
  std::optional<double> value = {};  ///< the newest; absent: none since the start
  Duration age{};                    ///< of it; without a value since the start
  double rise = 0;                   ///< within the window of a comparison that asks for it
};

struct Is {
  enum class State { off, on } state;
};
struct Above {
  double limit;
};
struct Below {
  double limit;
};
struct Outside {
  double low, high;
};
struct ClimbsBy {
  double rise;  ///< this much counts
  Duration within;
};
/// Nothing has come for the input's `age_max`.
struct Silent {};
using Test = std::variant<Is, Above, Below, Outside, ClimbsBy, Silent>;

/// One input, looked at in one way.
struct Comparison {
  std::size_t input = 0;  ///< index into the rulebook's inputs
  Test test;
  double slack = 0;  ///< what was met is over only so far inside, in the input's unit
};

/// A rule of the owner's own. It can hold dosing or call a person, and nothing else.
struct OwnerRule {
  std::string name;       ///< a-z, 0-9 and '-'
  std::string says = {};  ///< the owner's own sentence, put first; empty: none
  enum class Join { all, any } join = Join::all;
  std::vector<Comparison> comparisons = {};  ///< none: it goes by the hours alone
  std::optional<HoursOfDay> hours = {};      ///< outside them nothing is met
  Duration lasting{};                        ///< it must be met for so long
  enum class Effect { hold, alert } effect = Effect::hold;
  Clears release = Clears::by_itself;
  Duration release_after{};  ///< by itself: once it was over for so long
};

/// The owner's rules of a station and what they look at.
struct OwnerRulebook {
  /// The station's own probes stand first; what comes from elsewhere never reaches them.
  static constexpr std::size_t kPh = 0, kTemperature = 1, kFirstOwn = 2;
  std::vector<Input> inputs = {{"ph"}, {"temperature", Input::Kind::analogue, "°C"}};
  std::vector<OwnerRule> rules = {};
};

/// Of a comparison or a rule. Whatever is not known is neither met nor clear.
enum class Finding { unknown, met, clear };

/// What a rule remembers from one moment to the next.
struct OwnerMemory {
  std::vector<Finding> found;  ///< of each comparison, last
  std::vector<Finding>
      comparisons;  ///< the same for the slack: what was met before a silence is so
  Finding finding = Finding::unknown;
  std::optional<Instant> met_since, unknown_since, clear_since;
  /// `unknown`: only because nothing is known just now.
  enum class Stands { no, unknown, met } stands = Stands::no;
  bool latched = false;  ///< it waits for a person
};

/// As a rule begins: a hold stands until its inputs are known and calm, for nobody knows what was
/// before the start. An alert does not.
[[nodiscard]] OwnerMemory beginning_of(const OwnerRule& rule);

/// How long nothing may be known before an alert calls: a fresh start is no news.
[[nodiscard]] Duration unknown_for(const OwnerRule& rule, const std::vector<Input>& inputs);

/// Whether the input has said something lately, be it what it may. False for an age below zero.
[[nodiscard]] bool fresh(const Input& input, const InputKnown& known);

/// `before` = what was found of it last.
[[nodiscard]] Finding find(const Comparison& comparison, const Input& input,
                           const InputKnown& known, Finding before);

/// One moment's evidence: the hour, and what is known for each comparison of a rule, in their
/// order.
struct OwnerEvidence {
  Instant now;
  std::optional<Duration> time_of_day;  ///< absent: the clock is not trusted
  std::vector<InputKnown> known;
};

/// Follows a rule for one more moment. A hold stands at once for what is unknown, without
/// `lasting`; an alert only after it and the age that its inputs may have. Only what is known to be
/// met latches. Pure; any thread.
[[nodiscard]] OwnerMemory follow(const OwnerRule& rule, const std::vector<Input>& inputs,
                                 const OwnerEvidence& evidence, OwnerMemory memory);

/// Whether it holds, or calls a person, now.
[[nodiscard]] inline bool stands(const OwnerMemory& memory) {
  return memory.latched || memory.stands != OwnerMemory::Stands::no;
}

}  // namespace limegate::rules
