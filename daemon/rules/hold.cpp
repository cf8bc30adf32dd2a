#include "rules/hold.h"

#include <concepts>
#include <cstdlib>
#include <type_traits>

#include "rules/hold_row.h"

namespace limegate::rules {
namespace {

template <class Reason, class... Reasons>
constexpr const HoldRow<Reason>* row_in(const std::tuple<HoldRow<Reasons>...>& rows) {
  if constexpr ((std::is_same_v<Reason, Reasons> || ...)) {
    return &std::get<HoldRow<Reason>>(rows);
  } else {
    return nullptr;
  }
}

/// Each kind is of one family, for their lists make up `Hold`.
template <class Reason, class... Families>
const HoldRow<Reason>& row_among(const Families&... families) {
  const HoldRow<Reason>* row = nullptr;
  ((row = row != nullptr ? row : row_in<Reason>(families)), ...);
  return *row;
}

template <class Reason>
const HoldRow<Reason>& row_of(const Reason& /*of its kind*/) {
  return row_among<Reason>(kStirrerRows, kProbeRows, kWaterRows, kVolumeRows, kRecordRows,
                           kOutletRows);
}

template <class Reason>
void add_remembered(const Reason& reason, std::vector<Remembered>& all) {
  const HoldRow<Reason>& row = row_of(reason);
  if (bool Memory::*const flag = row.remembered.of(reason); flag != nullptr) {
    all.push_back({flag, reason, row.code.of(reason), row.clears.of(reason), row.teaches.of(reason),
                   row.flow.of(reason)});
  }
}

/// One of each kind; of what speaks of an outlet, one for each.
template <class... Reasons>
std::vector<Remembered> all_remembered(std::type_identity<std::variant<Reasons...>> /*kinds*/) {
  std::vector<Remembered> all;
  const auto add = [&]<class Reason>(std::type_identity<Reason>) {
    if constexpr (requires(Reason reason) {
                    { reason.role } -> std::same_as<OutletRole&>;
                  }) {
      add_remembered(Reason{OutletRole::pump}, all);
      add_remembered(Reason{OutletRole::stirrer}, all);
    } else {
      add_remembered(Reason{}, all);
    }
  };
  (add(std::type_identity<Reasons>{}), ...);
  return all;
}

}  // namespace

Hold::Hold(const Hold&) = default;
Hold::Hold(Hold&&) noexcept = default;
Hold& Hold::operator=(const Hold&) = default;
Hold& Hold::operator=(Hold&&) noexcept = default;
Hold::~Hold() = default;

std::string code_of(const Hold& hold) {
  return std::visit([](const auto& h) { return row_of(h).code.of(h); }, hold);
}
std::string sentence_of(const Hold& hold) {
  return std::visit([](const auto& h) { return row_of(h).sentence.of(h); }, hold);
}
Clears clears(const Hold& hold) {
  return std::visit([](const auto& h) { return row_of(h).clears.of(h); }, hold);
}
Reach reach(const Hold& hold) {
  return std::visit([](const auto& h) { return row_of(h).reach.of(h); }, hold);
}
Person person(const Hold& hold) {
  return std::visit([](const auto& h) { return row_of(h).person.of(h); }, hold);
}
Teaches teaches(const Hold& hold) {
  return std::visit([](const auto& h) { return row_of(h).teaches.of(h); }, hold);
}
Flow flow(const Hold& hold) {
  return std::visit([](const auto& h) { return row_of(h).flow.of(h); }, hold);
}
std::string limit_key(const Hold& hold) {
  return std::visit([](const auto& h) { return std::string{row_of(h).limit_key.of(h)}; }, hold);
}
std::string still_there(const Hold& hold, const Circumstances& now) {
  return std::visit([&](const auto& h) { return row_of(h).release.of(h, now); }, hold);
}

const std::vector<Remembered>& remembered() {
  static const std::vector<Remembered> all = all_remembered(std::type_identity<AnyReason>{});
  return all;
}

std::string owner_code(const std::string& rule) { return "rule-" + rule; }

const char* name_of(Clears clears) {
  return clears == Clears::by_person ? "by-person" : "by-itself";
}

}  // namespace limegate::rules
