#pragma once

#include <cstddef>
#include <string>
#include <tuple>
#include <type_traits>
#include <variant>

#include "rules/hold.h"

/// One row for each kind of hold: what it is called, says and does. The rows stand beside the
/// judges of their kinds, in the sources of the families. Without a row, or with a field of it
/// missing, nothing compiles.
namespace limegate::rules {

/// One field of a row: the same for all holds of the kind, or told by what one carries. It has no
/// default, so that it can't be left out.
template <class Reason, class Value, class Fixed = Value>
class Field {
 public:
  // NOLINTNEXTLINE(google-explicit-constructor): a row is a list of values
  constexpr Field(Fixed fixed) : fixed_(fixed) {}
  template <class Told>
  requires std::is_empty_v<Told> && std::is_invocable_r_v<Value, Told, const Reason&>
  // NOLINTNEXTLINE(google-explicit-constructor): the same
  constexpr Field(Told /*has no state*/)
      : told_([](const Reason& reason) -> Value { return Told{}(reason); }) {}

  [[nodiscard]] Value of(const Reason& reason) const {
    if (told_ != nullptr) {
      return told_(reason);
    }
    return fixed_;
  }

 private:
  Fixed fixed_{};
  Value (*told_)(const Reason&) = nullptr;
};

/// When a person may release it: why not yet, or "". Nothing is asked of what clears by itself, of
/// what no measurement shows, and of an owner's rule, which knows it by itself.
template <class Reason>
class Condition {
 public:
  using StillThere = const char* (*)(const Reason&, const Circumstances&);
  // NOLINTNEXTLINE(google-explicit-constructor): a row is a list of values
  constexpr Condition(StillThere still_there) : still_there_(still_there) {}

  [[nodiscard]] std::string of(const Reason& reason, const Circumstances& now) const {
    return still_there_ != nullptr ? still_there_(reason, now) : "";
  }

 private:
  StillThere still_there_;
};

template <class Reason>
struct HoldRow {
  Field<Reason, std::string, const char*> code;
  Field<Reason, Clears> clears;
  Field<Reason, Reach> reach;
  Field<Reason, Person> person;
  Field<Reason, Teaches> teaches;
  Field<Reason, Flow> flow;
  Field<Reason, bool Memory::*> remembered;  ///< the flag of one that stays until it clears
  Condition<Reason> release;
  Field<Reason, const char*> limit_key;
  Field<Reason, std::string, const char*> sentence;
};

constexpr std::nullptr_t kNotRemembered = nullptr;
constexpr std::nullptr_t kNoCondition = nullptr;
constexpr const char* kNoKey = "";

template <class Family>
struct RowsOf;
template <class... Reasons>
struct RowsOf<std::variant<Reasons...>> {
  using Type = std::tuple<HoldRow<Reasons>...>;
};
/// A row for each kind of a family, in its order.
template <class Family>
using Rows = typename RowsOf<Family>::Type;

extern const Rows<StirrerHold> kStirrerRows;
extern const Rows<ProbeHold> kProbeRows;
extern const Rows<WaterHold> kWaterRows;
extern const Rows<VolumeHold> kVolumeRows;
extern const Rows<RecordHold> kRecordRows;
extern const Rows<OutletHold> kOutletRows;

}  // namespace limegate::rules
