// What is written down, what the record brought along, and the owner's own rules.

#include <fmt/format.h>

#include "rules/families.h"
#include "rules/hold_row.h"

namespace limegate::rules {
constinit const Rows<RecordHold> kRecordRows{
    HoldRow<LedgerNotWritable>{
        "ledger-not-writable", Clears::by_itself, Reach::ends_pulse, Person::not_needed,
        Teaches::yes, Flow::as_commanded, kNotRemembered, kNoCondition, kNoKey,
        [](const LedgerNotWritable& h) {
          return fmt::format(
              "The ledger can't be written ({}). What is not recorded is not "
              "dosed.",
              h.why);
        }},

    HoldRow<DiskSlow>{
        "disk-slow", Clears::by_itself, Reach::ends_pulse, Person::not_needed, Teaches::yes,
        Flow::as_commanded, kNotRemembered, kNoCondition, kNoKey,
        [](const DiskSlow& h) {
          return fmt::format(
              "The disk takes too long to write, and what is not recorded is not dosed. It is "
              "tried again in {}.",
              for_people(h.remaining));
        }},

    HoldRow<RecordLost>{
        "record", Clears::by_person, Reach::ends_pulse, Person::not_needed, Teaches::yes,
        Flow::as_commanded, &Memory::record_latched, kNoCondition, kNoKey,
        "The record of what waited for a person is lost, in both its copies. Look at pump, "
        "stirrer and water as if all of it had; a person at the station must release this "
        "hold."},

    HoldRow<UnknownLatch>{
        [](const UnknownLatch& h) { return h.code; }, Clears::by_person, Reach::ends_pulse,
        Person::not_needed, Teaches::yes, Flow::as_commanded, kNotRemembered, kNoCondition, kNoKey,
        [](const UnknownLatch& h) {
          return fmt::format(
              "The record says that '{}' waits for a person, and this version does not know what "
              "that is: a newer one wrote it, or it was damaged. Find the cause; a person at the "
              "station must release this hold.",
              h.code);
        }},

    HoldRow<OwnerHold>{
        [](const OwnerHold& h) {
          return owner_code(h.rule) + (h.why == OwnerHold::Why::unknown ? "-unknown" : "");
        },
        [](const OwnerHold& h) {
          return h.why == OwnerHold::Why::latched ? Clears::by_person : Clears::by_itself;
        },
        Reach::ends_pulse,
        [](const OwnerHold& h) {
          return h.why == OwnerHold::Why::unknown && !h.watching ? Person::if_it_lasts
                                                                 : Person::not_needed;
        },
        Teaches::yes, Flow::as_commanded, kNotRemembered, kNoCondition, kNoKey,
        [](const OwnerHold& h) { return h.sentence; }}};

/// What no measurement has to do with: what a person switched off, and what the record brought
/// along.
void judge_kept(Judgement& out) {
  if (out.memory.switched_off_latched) {
    out.holds.emplace_back(SwitchedOff{});
  }
  if (out.memory.record_latched) {
    out.holds.emplace_back(RecordLost{});
  }
  for (const std::string& code : out.memory.unknown_latches) {
    out.holds.emplace_back(UnknownLatch{code});
  }
}

void judge_disk(Instant now, const Snapshot& known, Holds& holds) {
  if (known.disk_slow_until && now < *known.disk_slow_until) {
    holds.emplace_back(DiskSlow{*known.disk_slow_until - now});
  }
  if (known.ledger_fault) {
    holds.emplace_back(LedgerNotWritable{*known.ledger_fault});
  }
}

}  // namespace limegate::rules
