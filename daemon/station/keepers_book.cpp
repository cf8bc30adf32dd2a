#include "station/keepers_book.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "care/doubts.h"
#include "care/entry_reader.h"
#include "care/powder.h"
#include "units/iso8601.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Clocks of people and machines differ by so much.
constexpr Duration kAhead = 2min;
/// What is written within this time of its making needs no date of its own.
constexpr Duration kAsItWasMade = 2min;
/// Below it corals suffer (common practice: 7 to 11 dKH).
constexpr Dkh kLow{7.0};
constexpr const char* kLowId = "alkalinity-low";
/// Handed to the ledger in a second: its queue holds five times as many.
constexpr int kAgainAtOnce = 100;
/// Longer names are no names.
constexpr std::size_t kLongestText = 60;

Answer accepted(std::string sentence) { return {Answer::Verdict::accepted, std::move(sentence)}; }
Answer refused(std::string sentence) { return {Answer::Verdict::refused, std::move(sentence)}; }

/// "alkalinity 8.1 dKH at 2026-11-25T07:15:00Z".
std::string named(const care::Written& row) {
  return fmt::format("{}{}{}{}{} at {}", row.what, row.value.empty() ? "" : " ", row.value,
                     row.unit.empty() ? "" : " ", row.unit, iso8601(row.at));
}

bool stands(const BookEntry& entry) { return !entry.undone; }

/// A sentence of a row's, as one that stands alone.
std::string sentence_of(std::string text) {
  if (!text.empty() && text.front() >= 'a' && text.front() <= 'z') {
    text.front() = static_cast<char>(text.front() - 'a' + 'A');
  }
  return text + ".";
}

}  // namespace

KeepersBook::KeepersBook(Litres water, Millimetres bore, std::vector<BookEntry> known)
    : water_(water), bore_(bore), entries_(std::move(known)) {
  drop_oldest();
  find_newest();
}

void KeepersBook::drop_oldest() {
  if (entries_.size() <= kEntriesMost) {
    return;
  }
  // By the time of which they tell: what is imported late has the larger number.
  std::map<std::string, const BookEntry*> newest;
  for (const BookEntry& one : entries_) {
    const BookEntry*& known = newest[one.row.what];
    if (stands(one) && (known == nullptr || one.row.at >= known->row.at)) {
      known = &one;
    }
  }
  std::set<std::int64_t> kept;
  for (const auto& [what, one] : newest) {
    kept.insert(one == nullptr ? 0 : one->number);
  }
  std::size_t many = entries_.size() - kEntriesMost;
  std::erase_if(entries_, [&](const BookEntry& one) {
    const bool stays = many == 0 || one.row.what == "step" || kept.count(one.number) > 0;
    if (!stays) {
      --many;
      unwritten_.erase(one.number);
    }
    return !stays;
  });
}

std::string KeepersBook::refusal_of(const care::Entry& entry, const care::Written& row,
                                    WallTime now) const {
  if (row.at > now + kAhead) {
    return fmt::format(
        "{} is later than now, {}. Look at the date, and at the offset from UTC; nothing was "
        "written down.",
        iso8601(row.at), iso8601(now));
  }
  if (const std::string wrong = care::objection_to(entry, water_); !wrong.empty()) {
    return sentence_of(wrong);
  }
  const auto same = std::find_if(entries_.begin(), entries_.end(), [&](const BookEntry& one) {
    return stands(one) && one.row == row;
  });
  return same == entries_.end()
             ? ""
             : fmt::format("That is in the book already, as entry {}.", same->number);
}

std::string KeepersBook::question_about(const care::Entry& entry, const care::Written& row,
                                        const Beside& beside) const {
  if (const auto* powder = std::get_if<care::PowderAdded>(&entry.what)) {
    const double most = care::charge_of(bore_).high;
    const double grams = powder->mass.count() * 1000.0 + beside.powder_g;
    return grams > most
               ? fmt::format(
                     "{:.0f} g{} are more than a vessel of {:.0f} mm takes, {:.0f} g: powder "
                     "cakes, and the stirrer's motor is overloaded.",
                     grams,
                     beside.powder_g >= 1.0
                         ? fmt::format(", with {:.0f} g that may be in it still,", beside.powder_g)
                         : "",
                     bore_.count(), most)
               : "";
  }
  // Beside the ones before and after it in time, of the same kind.
  const BookEntry* before = nullptr;
  const BookEntry* after = nullptr;
  for (const BookEntry& one : entries_) {
    if (!stands(one) || one.row.what != row.what) {
      continue;
    }
    if (one.row.at <= row.at && (before == nullptr || one.row.at >= before->row.at)) {
      before = &one;
    } else if (one.row.at > row.at && (after == nullptr || one.row.at < after->row.at)) {
      after = &one;
    }
  }
  const auto read = [](const BookEntry* one) -> std::optional<care::Entry> {
    care::Written then = one == nullptr ? care::Written{} : one->row;
    const auto found = one == nullptr ? tl::unexpected(std::string{}) : care::read_entry(then);
    return found ? std::optional{*found} : std::nullopt;
  };
  const auto then = read(before), next = read(after);
  return care::doubt_about(entry, then ? &*then : nullptr, next ? &*next : nullptr);
}

void KeepersBook::keep(BookEntry entry, Effects& effects) {
  ++changes_;
  unwritten_.insert(entry.number);
  effects.emplace_back(StoreBookEntry{entry});
  const auto old = std::find_if(entries_.begin(), entries_.end(),
                                [&](const BookEntry& one) { return one.number == entry.number; });
  if (old != entries_.end()) {
    *old = std::move(entry);
  } else {
    entries_.push_back(std::move(entry));
  }
  drop_oldest();
  find_newest();
}

Answer KeepersBook::write(Moments at, const Beside& beside, const WriteEntry& what,
                          Effects& effects) {
  if (!at.now.wall_trusted) {
    return refused(
        "Nobody set this machine's clock since it started, so the book would not know when this "
        "was. See to its time service, or say that it is right: limegate trust-clock. Nothing was "
        "written down.");
  }
  care::Written row = what.row;
  if (row.kit.size() > kLongestText || row.value.size() > kLongestText) {
    return refused("A value or a kit's name has 60 letters at most. Nothing was written down.");
  }
  // To the second, as it is shown and handed on.
  row.at = std::chrono::floor<std::chrono::seconds>(what.at.value_or(at.now.wall));
  const auto entry = care::read_entry(row);
  if (!entry) {
    return refused(sentence_of(entry.error()));
  }
  if (row.what == "limewater") {
    return refused(
        "The station counts the limewater that it gives. Alkalinity that came otherwise is a "
        "supplement.");
  }
  if (const std::string why = refusal_of(*entry, row, at.now.wall); !why.empty()) {
    return refused(why);
  }
  if (what.said == WriteEntry::Said::once) {
    if (const std::string question = question_about(*entry, row, beside); !question.empty()) {
      return refused(question +
                     " Nothing was written down: if it is so, say it again with --sure.");
    }
  }
  const std::int64_t number = entries_.empty() ? 1 : entries_.back().number + 1;
  const std::string name = named(row);
  keep({number, at.today, std::move(row), {}, beside.given_in_all, beside.ph}, effects);
  return accepted(fmt::format("Entry {}: {}.", number, name));
}

Answer KeepersBook::undo(WallTime now, const UndoEntry& what, Effects& effects) {
  const auto found = std::find_if(entries_.begin(), entries_.end(),
                                  [&](const BookEntry& one) { return one.number == what.number; });
  if (found == entries_.end()) {
    return refused(
        fmt::format("There is no entry {} in the book: limegate book lists them.", what.number));
  }
  if (found->undone) {
    return refused(fmt::format("Entry {} was taken back before, at {}.", what.number,
                               iso8601(*found->undone)));
  }
  BookEntry entry = *found;
  entry.undone = now;
  const std::string name = named(entry.row);
  keep(std::move(entry), effects);
  return accepted(fmt::format("Taken back: entry {}, {}. It stays in the book, and counts no more.",
                              what.number, name));
}

void KeepersBook::find_newest() {
  newest_.reset();
  for (const BookEntry& one : entries_) {
    if (!stands(one) || one.row.what != "alkalinity") {
      continue;
    }
    const bool as_it_was_made = one.entered.wall - one.row.at <= kAsItWasMade;
    care::Written row = one.row;
    const auto entry = care::read_entry(row);
    const auto* test = entry ? std::get_if<care::AlkalinityTest>(&entry->what) : nullptr;
    if (test != nullptr && (!newest_ || as_it_was_made || one.row.at >= newest_->at)) {
      newest_ = {test->level, one.row.at, one.entered, one.number};
    }
  }
}

std::optional<rules::TestedAlkalinity> KeepersBook::alkalinity(Moments at) const {
  if (!newest_) {
    return std::nullopt;
  }
  const Duration by_wall = at.now.wall - newest_->at;
  const Duration by_uptime =
      at.today.lifetime - newest_->entered.lifetime + (newest_->entered.wall - newest_->at);
  const Duration age = !at.now.wall_trusted         ? Duration::max()
                       : by_wall < Duration::zero() ? by_wall
                                                    : std::max(by_wall, by_uptime);
  return rules::TestedAlkalinity{newest_->level, age};
}

void KeepersBook::step(Moment now, const std::optional<rules::TestedAlkalinity>& alkalinity,
                       Duration counts_for, Effects& effects) {
  write_again(effects);
  const bool low = alkalinity && !(alkalinity->level >= kLow);
  if (low && !std::exchange(low_told_, true)) {
    effects.emplace_back(
        Raise{{now.wall, Severity::alert, kLowId,
               fmt::format("Alkalinity was tested at {:.1f} dKH, below {:.0f}. Limewater maintains "
                           "and does not correct: raise it by other means, by at most 0.5 dKH a "
                           "day, and test again.",
                           alkalinity->level.count(), kLow.count()),
               kLowId}});
  } else if (!low && std::exchange(low_told_, false)) {
    effects.emplace_back(
        Raise{{now.wall,
               Severity::info,
               "alkalinity-no-longer-low",
               fmt::format("Alkalinity is no longer below {:.0f} dKH, by the newest "
                           "test.",
                           kLow.count()),
               {},
               kLowId}});
  }
  const bool old = alkalinity && now.wall_trusted && alkalinity->age > counts_for;
  if (old && !std::exchange(old_told_, true)) {
    effects.emplace_back(
        Raise{{now.wall, Severity::warning, "alkalinity-test-old",
               "The newest test of alkalinity is too old to size pulses by: they are sized for the "
               "most sensitive water until there is another. Test it: limegate record."}});
  }
  old_told_ = old_told_ && old;
}

void KeepersBook::recount(const std::vector<BookEntry>& kept) {
  for (const BookEntry& entry : entries_) {
    const bool known = std::any_of(kept.begin(), kept.end(), [&](const BookEntry& one) {
      return one.number == entry.number && one.undone.has_value() == entry.undone.has_value();
    });
    if (!known) {
      unwritten_.insert(entry.number);
    }
  }
}

void KeepersBook::write_again(Effects& effects) {
  for (int i = 0; i < kAgainAtOnce && !again_.empty(); ++i) {
    const std::int64_t number = *again_.begin();
    again_.erase(again_.begin());
    const auto entry = std::find_if(entries_.begin(), entries_.end(),
                                    [&](const BookEntry& one) { return one.number == number; });
    if (entry != entries_.end() && unwritten_.count(number) > 0) {
      effects.emplace_back(StoreBookEntry{*entry});
    }
  }
}

}  // namespace limegate::station
