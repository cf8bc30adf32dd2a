// Who waits for a disk that does not answer.

#include "page/patience.h"

#include <chrono>

#include <boost/asio/io_context.hpp>
#include <gtest/gtest.h>

namespace limegate::page {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

TEST(Patience, ends_once_and_what_comes_later_is_not_the_first) {
  boost::asio::io_context loop{1};
  Patience patience{loop.get_executor()};
  int late = 0;
  const auto is_first = patience.first_within(1ms, [&] { ++late; });
  loop.run();
  EXPECT_EQ(late, 1);
  EXPECT_FALSE(is_first());
}

TEST(Patience, for_the_next_is_not_ended_by_what_comes_late) {
  boost::asio::io_context loop{1};
  Patience patience{loop.get_executor()};
  int late = 0;
  const auto first = patience.first_within(1ms, [&] { ++late; });
  loop.run();
  const auto second = patience.first_within(1ms, [&] { late += 10; });
  EXPECT_FALSE(first());
  loop.restart();
  loop.run();
  EXPECT_EQ(late, 11);
  EXPECT_FALSE(second());
}

TEST(Patience, is_not_lost_where_the_answer_comes_in_time) {
  boost::asio::io_context loop{1};
  Patience patience{loop.get_executor()};
  int late = 0;
  const auto is_first = patience.first_within(1h, [&] { ++late; });
  EXPECT_TRUE(is_first());
  loop.run();  // ends, for nothing waits any more
  EXPECT_EQ(late, 0);
  EXPECT_FALSE(is_first()) << "once";
}

}  // namespace
}  // namespace limegate::page
