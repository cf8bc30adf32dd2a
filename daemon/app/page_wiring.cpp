#include "app/page_wiring.h"

#include <map>
#include <utility>
#include <variant>

#include <boost/asio/post.hpp>

#include "app/check_page.h"
#include "app/log.h"
#include "app/state_dir.h"
#include "files/secret.h"

namespace limegate::app {
namespace {

constexpr auto kTryEvery = std::chrono::seconds{60};
/// 128 bits of hexadecimal digits have 32; a word that a person made up is tried out.
constexpr std::size_t kTokenLeast = 16;

std::map<std::string, std::string> settings_of(const config::Config& config) {
  std::map<std::string, std::string> settings;
  for (const config::Station& station : config.stations) {
    settings.emplace(station.settings.name, page_of(config, station));
  }
  return settings;
}

}  // namespace

PageToken token_of(const page::Settings& settings) {
  const auto secret = files::read_secret(settings.token, "The token of the page");
  if (!secret) {
    return {{}, secret.error() + ". Nothing can be changed on the page."};
  }
  const bool none = std::holds_alternative<std::monostate>(settings.token);
  if (!none && secret->text.size() < kTokenLeast) {
    return {{},
            "The token of the page is shorter than 16 characters, so nothing can be changed there. "
            "Make one: openssl rand -hex 16"};
  }
  return {secret->text, secret->warning};
}

PageWiring::PageWiring(boost::asio::io_context& loop, const config::Config& config, Doors doors) {
  if (config.page) {
    place_ = page::address_of(*config.page);
    reader_ = std::make_unique<Reader>();
    // Beside who writes it, in a thread of its own: nothing that a dose waits for waits for this.
    // The reply goes back whole, for what hangs on it belongs to the loop.
    const auto beside = [this, &loop](const auto& read) {
      return [this, &loop, read](const auto& asked, const auto& to) {
        boost::asio::post(reader_->thread, [&loop, read, asked, reply = to]() mutable {
          boost::asio::post(loop, [reply = std::move(reply), part = read(asked)] { reply(part); });
        });
      };
    };
    const journal::RecordFiles files{readings_path(config.state_dir),
                                     ledger_path(config.state_dir)};
    const auto counting = [read = beside([files](int) { return journal::read_counts(files); })](
                              const auto& reply) { read(0, reply); };
    // Read once: the loop must not wait for a disk later.
    PageToken token = token_of(*config.page);
    if (!token.remark.empty()) {
      log_warning(token.remark);
    }
    server_.emplace(loop, *config.page, std::move(token.text),
                    page::Server::Parts{
                        std::move(doors.overview), settings_of(config), std::move(doors.command),
                        beside([files, usual = &reader_->usual](const journal::CourseAsked& asked) {
                          return journal::read_course(files, asked, usual);
                        }),
                        beside([files](const journal::HappeningsAsked& asked) {
                          return journal::read_happenings(files.readings, asked);
                        }),
                        counting});
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
