#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <utility>

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/system/error_code.hpp>

namespace limegate::page {

/// For who waits for a disk that may not answer. Threads: the loop thread.
class Patience {
 public:
  explicit Patience(const boost::asio::any_io_executor& loop) : timer_(loop) {}

  /// Calls `late` after so long, unless what is returned was asked before: whoever brings the
  /// answer asks it, once, whether it is the first to do so, and keeps alive who holds this.
  template <class Late>
  [[nodiscard]] std::function<bool()> first_within(std::chrono::steady_clock::duration time,
                                                   const Late& late) {
    const auto open = std::make_shared<bool>(true);
    timer_.expires_after(time);
    timer_.async_wait([open, late](boost::system::error_code error) {
      if (!error && std::exchange(*open, false)) {
        late();
      }
    });
    return [this, open] {
      const bool first = std::exchange(*open, false);
      if (first) {  // else the next one may wait by now
        timer_.cancel();
      }
      return first;
    };
  }

 private:
  boost::asio::steady_timer timer_;
};

}  // namespace limegate::page
