#include "app/page_wiring.h"

#include <utility>

#include <boost/asio/post.hpp>

#include "app/log.h"
#include "app/state_dir.h"

namespace limegate::app {
namespace {

constexpr auto kTryEvery = std::chrono::seconds{60};

}  // namespace

PageWiring::PageWiring(boost::asio::io_context& loop, const config::Config& config,
                       std::function<station::Overview()> overview) {
  if (config.page) {
    place_ = page::address_of(*config.page);
    reader_ = std::make_unique<Reader>();
    // Beside who writes it, in a thread of its own: nothing that a dose waits for waits for this.
    // The reply goes back whole, for what hangs on it belongs to the loop.
    const auto look_back = [this, &loop, path = readings_path(config.state_dir)](
                               const journal::CourseAsked& asked,
                               const std::function<void(const page::Server::Parts::Course&)>& to) {
      boost::asio::post(reader_->thread, [&loop, path, asked, reply = to]() mutable {
        boost::asio::post(loop, [reply = std::move(reply),
                                 course = journal::read_course(path, asked)] { reply(course); });
      });
    };
    server_.emplace(loop, *config.page, page::Server::Parts{std::move(overview), look_back});
  }
}

PageWiring::~PageWiring() {
  if (reader_) {
    reader_->thread.join();  // what it reads is posted to a loop that is there still
  }
}

std::string PageWiring::place() const {
  return server_ && server_->is_open() ? place_ : std::string{};
}

void PageWiring::tick() {
  if (!server_) {
    return;
  }
  const auto now = std::chrono::steady_clock::now();
  if (!server_->is_open() && now >= next_try_) {
    next_try_ = now + kTryEvery;
    if (const auto open = server_->listen()) {
      log_info("the page is at " + place_);
      told_ = false;
    } else if (!std::exchange(told_, true)) {
      log_warning(open.error() + " Dosing goes on without it, and it is tried again.");
    }
  }
  server_->tick();
}

}  // namespace limegate::app
