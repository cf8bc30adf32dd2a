// The connection by itself: each attempt is answered, and only its own end is its end.

#include "mqtt/link.h"

#include <string>
#include <utility>
#include <vector>

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <gmock/gmock.h>

#include "mqtt/rig.h"
#include "support/broker.h"
#include "support/scripted_broker.h"

namespace limegate::test {
namespace {

/// A loop that runs while a test waits, and what a link told there.
class Told {
 public:
  [[nodiscard]] mqtt::Link::Post post() {
    return [this](std::function<void()> what) { boost::asio::post(loop_, std::move(what)); };
  }
  [[nodiscard]] mqtt::Link::Listener listener() {
    mqtt::Link::Listener listener;
    listener.connected = [this] { ++connected; };
    listener.failed = [this](const mqtt::Failure& failure) { failures.push_back(failure); };
    listener.subscribed = [this](const std::string&) { ++subscribed; };
    listener.room = [] {};
    listener.warned = [](const std::string&) {};
    listener.arrived = [](const std::string&, const std::string&, bool) { return false; };
    listener.mail = [] {};
    return listener;
  }
  [[nodiscard]] bool wait_for(const std::function<bool()>& what) {
    return wait_until([&] {
      loop_.poll();
      return what();
    });
  }
  [[nodiscard]] std::string reasons() const {
    std::string all;
    for (const mqtt::Failure& failure : failures) {
      all += failure.why + "; ";
    }
    return all;
  }

  int connected = 0;
  int subscribed = 0;
  std::vector<mqtt::Failure> failures;

 private:
  boost::asio::io_context loop_;
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work_{
      loop_.get_executor()};
};

TEST(Links, AnAttemptIsAnsweredThoughTheFormerConnectionStillStands) {
  Broker broker;
  broker.start();
  Told told;
  mqtt::Link link{
      Rig::settings(broker.port()), {"test/will", "gone"}, told.post(), told.listener()};
  for (int i = 1; i <= 4; ++i) {
    link.connect();
    ASSERT_TRUE(told.wait_for([&] { return told.connected == i; })) << i << broker.log();
  }
  // The newest connection is a whole one, and no end of a former one was taken for its own.
  link.subscribe({{"test/#", mqtt::Link::Filter::Gets::news}});
  EXPECT_TRUE(told.wait_for([&] { return told.subscribed == 1; })) << broker.log();
  link.publish({{"test/newest", "here"}});
  EXPECT_TRUE(told.wait_for([&] { return broker.kept("test/newest").size() == 1; }));
  EXPECT_EQ(told.reasons(), "");
}

TEST(Links, AnAttemptIsAnsweredWhereverTheFormerOneIs) {
  Broker broker;
  broker.start();
  Told told;
  mqtt::Link link{
      Rig::settings(broker.port()), {"test/will", "gone"}, told.post(), told.listener()};
  for (int i = 1; i <= 20; ++i) {
    link.connect();  // ends the one before it somewhere on its way
    std::this_thread::sleep_for(std::chrono::milliseconds{7} * i);
  }
  EXPECT_TRUE(told.wait_for([&] { return told.connected > 0; })) << broker.log();
  link.publish({{"test/newest", "here"}});
  EXPECT_TRUE(told.wait_for([&] { return broker.kept("test/newest").size() == 1; }));
  EXPECT_EQ(told.reasons(), "");
}

TEST(Links, TheBrokersWordTellsAnotherClientFromAnythingElse) {
  ScriptedBroker broker;
  Told told;
  mqtt::Link link{
      Rig::settings(broker.port()), {"test/will", "gone"}, told.post(), told.listener()};
  constexpr int taken_over = 0x8E;
  constexpr int shutting_down = 0x8B;
  using Kind = mqtt::Failure::Kind;
  for (const auto& [reason, kind] :
       {std::pair{taken_over, Kind::taken_over}, std::pair{shutting_down, Kind::sent_away}}) {
    told.failures.clear();
    const int before = told.connected;
    link.connect();
    ASSERT_TRUE(told.wait_for([&] { return told.connected > before; })) << told.reasons();
    broker.end_with(reason);
    ASSERT_TRUE(told.wait_for([&] { return !told.failures.empty(); }));
    EXPECT_EQ(told.failures.front().kind, kind) << told.reasons();
  }
}

}  // namespace
}  // namespace limegate::test
