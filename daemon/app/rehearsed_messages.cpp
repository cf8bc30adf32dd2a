#include "app/rehearsed_messages.h"

#include <chrono>
#include <string>

#include "alerts/book.h"
#include "alerts/teller.h"

namespace limegate::app {

std::size_t count_messages(const rehearsal::Outcome& outcome) {
  using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
  int numbers = 0;
  const auto number = [&] { return std::to_string(++numbers); };
  alerts::Book book{number};
  alerts::Teller teller{{number, [](const alerts::Record&) { return std::string{}; }}};
  std::size_t messages = 0;
  auto next = outcome.for_people.begin();
  // What needs a person changes by minutes; the seconds of gathering make no other message.
  for (Duration at{}; at <= outcome.lasted; at += 1min) {
    const alerts::When now{{at, WallTime{at}}, true};
    for (; next != outcome.for_people.end() && next->at <= at; ++next) {
      book.take("", next->event, now);
    }
    messages += teller.tick(book, now) ? 1U : 0U;
  }
  return messages;
}

}  // namespace limegate::app
