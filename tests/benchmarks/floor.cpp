// The least that a dosing daemon could cost: one thread that polls two registers and gates one coil
// once a second, journals every ten seconds, and publishes both values where a broker is given. It
// decides nothing and survives nothing; it is here to be compared with.
// usage: floor TCP_PORT DATABASE [BROKER_PORT]

#include <cstdlib>
#include <string>
#include <thread>

#include <MQTTClient.h>
#include <modbus.h>
#include <sqlite3.h>

namespace {

MQTTClient connected(const char* port) {
  MQTTClient client = nullptr;
  MQTTClient_create(&client, (std::string{"tcp://127.0.0.1:"} + port).c_str(), "floor",
                    MQTTCLIENT_PERSISTENCE_NONE, nullptr);
  MQTTClient_connectOptions options = MQTTClient_connectOptions_initializer;
  return MQTTClient_connect(client, &options) == MQTTCLIENT_SUCCESS ? client : nullptr;
}

void publish(MQTTClient client, const char* topic, int value) {
  const std::string text = std::to_string(value);
  MQTTClient_deliveryToken token = 0;
  MQTTClient_publish(client, topic, static_cast<int>(text.size()), text.c_str(), 1, 1, &token);
  MQTTClient_waitForCompletion(client, token, 1000);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3 && argc != 4) {
    return 2;
  }
  modbus_t* bus = modbus_new_tcp("127.0.0.1", std::atoi(argv[1]));
  sqlite3* db = nullptr;
  sqlite3_open(argv[2], &db);
  sqlite3_exec(db, "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; CREATE TABLE r(t, a, b)",
               nullptr, nullptr, nullptr);
  if (modbus_connect(bus) != 0) {
    return 1;
  }
  const MQTTClient broker = argc == 4 ? connected(argv[3]) : nullptr;
  if (argc == 4 && broker == nullptr) {
    return 1;
  }
  auto next = std::chrono::steady_clock::now();
  for (int second = 0;; ++second) {
    std::uint16_t ph = 0;
    std::uint16_t temperature = 0;
    modbus_set_slave(bus, 1);
    modbus_read_registers(bus, 0, 1, &ph);
    modbus_read_registers(bus, 1, 1, &temperature);
    modbus_set_slave(bus, 2);
    modbus_write_bit(bus, 0, ph > 900 ? 1 : 0);
    if (second % 10 == 0) {
      char* sql = sqlite3_mprintf("INSERT INTO r VALUES(%d, %d, %d)", second, ph, temperature);
      sqlite3_exec(db, sql, nullptr, nullptr, nullptr);
      sqlite3_free(sql);
    }
    if (broker != nullptr) {
      publish(broker, "floor/ph", ph);
      publish(broker, "floor/temperature", temperature);
    }
    next += std::chrono::seconds{1};
    std::this_thread::sleep_until(next);
  }
}
