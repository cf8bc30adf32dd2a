#include "app/page_wiring.h"

#include <utility>

#include <fmt/format.h>

#include "app/log.h"

namespace limegate::app {
namespace {

constexpr auto kTryEvery = std::chrono::seconds{60};

std::string place_of(const page::Settings& settings) {
  const bool six = settings.address.find(':') != std::string::npos;
  return fmt::format(fmt::runtime(six ? "http://[{}]:{}/" : "http://{}:{}/"), settings.address,
                     settings.port);
}

}  // namespace

PageWiring::PageWiring(boost::asio::io_context& loop, const config::Config& config,
                       std::function<station::Overview()> overview) {
  if (config.page) {
    place_ = place_of(*config.page);
    server_.emplace(loop, *config.page, page::Server::Parts{std::move(overview)});
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
