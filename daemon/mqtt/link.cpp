#include "mqtt/link.h"

#include <thread>
#include <utility>

#include "mqtt/link_core.h"

namespace limegate::mqtt {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr auto kFinishWithin = 1900ms;

}  // namespace

Link::Link(const Settings& settings, Message will, Post post, Listener listener)
    : core_(
          std::make_shared<Core>(settings, std::move(will), std::move(post), std::move(listener))) {
  // The thread keeps what it works on: where a name lookup outlasts our patience at the end, it is
  // left behind, and the program ends without it.
  std::thread{[core = core_] { core->work(); }}.detach();
}

Link::~Link() { finish({}); }

void Link::connect() {
  core_->begin_attempt();
  core_->enqueue([core = core_.get(), attempt = core_->attempt()] { core->connect(attempt); });
}

void Link::publish(std::vector<Message> messages) {
  if (messages.empty() || !core_->take_room(messages.size())) {
    return;
  }
  core_->enqueue([core = core_.get(), attempt = core_->attempt(), batch = std::move(messages)] {
    core->publish(attempt, batch);
  });
}

void Link::subscribe(std::vector<Filter> filters) {
  core_->enqueue([core = core_.get(), attempt = core_->attempt(), all = std::move(filters)] {
    core->subscribe(attempt, all);
  });
}

std::size_t Link::room() const { return core_->room(); }

void Link::ask_for_room() { core_->ask_for_room(); }

void Link::finish(std::vector<Message> last_words) {
  core_->silence();
  core_->enqueue([core = core_.get(), words = std::move(last_words)] { core->finish(words); });
  (void)core_->wait_until_finished(kFinishWithin);
}

}  // namespace limegate::mqtt
