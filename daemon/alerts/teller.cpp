#include "alerts/teller.h"

#include <algorithm>

#include "alerts/kind.h"

namespace limegate::alerts {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// What one cause raises comes within seconds, or with the next of the holds' own minutes.
constexpr Duration kGatherUrgent = 10s, kGather = 60s;
constexpr Duration kSoon = 10min, kDay = 24h;
/// More than anybody reads; the others come with the next.
constexpr std::size_t kItemsMax = 12;

}  // namespace

void Teller::know(const std::vector<dosing::Stamp>& sent, const When& now) {
  sent_.assign(sent.begin(), sent.end());
  for (dosing::Stamp& at : sent_) {
    at.lifetime = std::min(at.lifetime, now.stamp.lifetime);
  }
}

bool Teller::may_go(const Bounds& bounds, const When& now) const {
  const auto within = [&](Duration time) {
    return static_cast<std::size_t>(std::count_if(
        sent_.begin(), sent_.end(),
        [&](const dosing::Stamp& at) { return now.stamp.lifetime - at.lifetime < time; }));
  };
  return within(kSoon) < bounds.soon && within(kDay) < bounds.a_day;
}

Message::Item Teller::item_of(const Book& book, const Record& record) const {
  const Kind& kind = kind_of(record.id);
  Message::Item item{record.station,
                     record.id,
                     record.number,
                     name_of(Book::state_of(record)),
                     kind.urgency,
                     record.latched,
                     record.sentence,
                     record.raised.wall,
                     record.came,
                     std::string{kind.consequence},
                     std::string{kind.action},
                     kind.may_wait,
                     {},
                     record.stands() ? parts_.cost(record) : std::string{}};
  for (const Record* follows : book.explained_by(record)) {
    item.explains.push_back(follows->sentence);
  }
  return item;
}

std::optional<Message> Teller::tick(Book& book, const When& now) {
  while (!sent_.empty() && now.stamp.lifetime - sent_.front().lifetime >= kDay) {
    sent_.pop_front();
  }
  book.tick(now);
  std::vector<const Record*> due = book.due(now);
  if (due.empty()) {
    gathering_since_.reset();
    return std::nullopt;
  }
  gathering_since_ = gathering_since_.value_or(now.stamp);
  const Record& first = *due.front();
  const bool urgent = first.stands() && kind_of(first.id).urgency == Urgency::act_now;
  const bool urgent_news = urgent && !first.told_at;  // it comes first of all
  const bool news =
      std::any_of(due.begin(), due.end(), [](const Record* record) { return !record->told_at; });
  const Bounds& bounds = urgent_news ? kUrgent : urgent ? kUrgentAgain : news ? kCalm : kCalmAgain;
  const Duration gathered = now.stamp.lifetime - gathering_since_->lifetime;
  if (gathered < (urgent ? kGatherUrgent : kGather) || !may_go(bounds, now)) {
    return std::nullopt;
  }
  gathering_since_.reset();
  due.resize(std::min(due.size(), kItemsMax));
  Message message{parts_.new_id(), now.stamp.wall};
  message.type = !first.stands() ? Message::Type::returned
                 : first.told_at ? Message::Type::again
                                 : Message::Type::raised;
  std::vector<std::string> numbers;
  for (const Record* record : due) {
    message.alerts.push_back(item_of(book, *record));
    numbers.push_back(record->number);
  }
  book.told(numbers, now);
  write_for_people(message);
  sent_.push_back(now.stamp);
  return message;
}

Message Teller::test(const When& now) const {
  Message message{parts_.new_id(), now.stamp.wall, Message::Type::test};
  message.text =
      "Somebody at the station asked for a test message. Nothing is wrong; if you read this, this "
      "way works.\n";
  write_for_people(message);
  return message;
}

}  // namespace limegate::alerts
