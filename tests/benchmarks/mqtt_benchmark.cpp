// From a changed state in the loop to its arrival at a foreign subscriber, through a real broker on
// loopback: the gate opens and closes, which several properties tell of at once.
#include <algorithm>
#include <atomic>
#include <chrono>
#include <cstdlib>
#include <string>
#include <thread>
#include <vector>

#include <MQTTClient.h>
#include <benchmark/benchmark.h>

#include "mqtt/rig.h"
#include "support/broker.h"

namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Clock = std::chrono::steady_clock;

constexpr int kChanges = 400;

struct Heard {
  std::atomic<int> count{0};
  std::atomic<Clock::rep> at{0};
};

int arrived(void* context, char* topic, int /*length*/, MQTTClient_message* message) {
  auto* heard = static_cast<Heard*>(context);
  heard->at = Clock::now().time_since_epoch().count();
  ++heard->count;
  MQTTClient_freeMessage(&message);
  MQTTClient_free(topic);
  return 1;
}

void publish_latency(benchmark::State& state) {
  while (state.KeepRunning()) {
    limegate::test::Broker broker;
    broker.start();
    limegate::test::Rig rig{limegate::test::Rig::settings(broker.port()), 1ms};
    Heard heard;
    MQTTClient client = nullptr;
    MQTTClient_create(&client, ("tcp://127.0.0.1:" + std::to_string(broker.port())).c_str(),
                      "listener", MQTTCLIENT_PERSISTENCE_NONE, nullptr);
    MQTTClient_setCallbacks(client, &heard, nullptr, arrived, nullptr);
    MQTTClient_connectOptions options = MQTTClient_connectOptions_initializer;
    if (MQTTClient_connect(client, &options) != MQTTCLIENT_SUCCESS ||
        MQTTClient_subscribe(client, "+/5/+/gate/open", 1) != MQTTCLIENT_SUCCESS) {
      state.SkipWithError("no connection");
      return;
    }
    std::this_thread::sleep_for(2s);
    std::vector<double> ms;
    for (int n = 0; n < kChanges; ++n) {
      const int before = heard.count;
      Clock::time_point changed;
      rig.change([&](limegate::station::Overview& overview) {
        changed = Clock::now();
        overview.stations[0].gate_open = !overview.stations[0].gate_open;
      });
      const auto deadline = Clock::now() + 2s;
      while (heard.count == before && Clock::now() < deadline) {
        std::this_thread::sleep_for(20us);
      }
      if (heard.count == before) {
        state.SkipWithError("a change was not heard");
        return;
      }
      const Clock::time_point at{Clock::duration{heard.at.load()}};
      ms.push_back(std::chrono::duration<double, std::milli>(at - changed).count());
      std::this_thread::sleep_for(10ms);
    }
    std::sort(ms.begin(), ms.end());
    state.counters["p50_ms"] = ms[ms.size() / 2];
    state.counters["p99_ms"] = ms[ms.size() * 99 / 100];
    state.counters["max_ms"] = ms.back();
    MQTTClient_disconnect(client, 100);
    MQTTClient_destroy(&client);
  }
}
BENCHMARK(publish_latency)->Iterations(1)->Unit(benchmark::kSecond);

}  // namespace

BENCHMARK_MAIN();
