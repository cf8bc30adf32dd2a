#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include <boost/asio/io_context.hpp>
#include <boost/asio/thread_pool.hpp>

#include "config/config.h"
#include "journal/usual_band.h"
#include "page/server.h"

namespace limegate::app {

/// By whom something is changed on the page.
struct PageToken {
  std::string text;    ///< empty: by nobody
  std::string remark;  ///< why not, or what a person should know; empty: nothing
};
/// Blocks on the file system.
[[nodiscard]] PageToken token_of(const page::Settings& settings);

/// The page, where the file has one. Dosing goes on without it; its port is tried again.
class PageWiring {
 public:
  /// What comes and goes by the page.
  struct Doors {
    std::function<station::Overview()> overview;
    page::Obey command;
  };
  PageWiring(boost::asio::io_context& loop, const config::Config& config, Doors doors);

  ~PageWiring();
  PageWiring(const PageWiring&) = delete;
  PageWiring& operator=(const PageWiring&) = delete;
  PageWiring(PageWiring&&) = delete;
  PageWiring& operator=(PageWiring&&) = delete;

  /// With each step.
  void tick();

  /// "http://127.0.0.1:8377/"; empty while nothing is served.
  [[nodiscard]] std::string place() const;

 private:
  /// Reads the record.
  struct Reader {
    journal::UsualDays usual;  ///< of the thread
    boost::asio::thread_pool thread{1};
  };
  std::unique_ptr<Reader> reader_;  ///< absent without a page; goes after the server
  std::optional<page::Server> server_;
  std::string place_;
  std::chrono::steady_clock::time_point next_try_;
  bool told_ = false;  ///< that it is not served
};

}  // namespace limegate::app
