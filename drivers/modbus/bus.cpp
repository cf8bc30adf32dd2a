#include "modbus/bus.h"

#include <utility>

#include "modbus/worker.h"

namespace limegate::modbus {
namespace {

class ModbusOutlet final : public ports::Outlet {
 public:
  ModbusOutlet(Bus::Worker& worker, const OutletSettings& settings)
      : worker_(worker), channel_(worker.channel(settings)) {}

  void run_for(Duration duration, Instant send_before, Reply reply) override {
    worker_.run_for(channel_, duration, send_before, reply);
  }
  void off(Reply reply) override { worker_.off(channel_, reply); }
  void read_back(Reply reply) override { worker_.read_back(channel_, reply); }

 private:
  Bus::Worker& worker_;
  Bus::Worker::ChannelPtr channel_;
};

}  // namespace

Bus::Bus(const BusSettings& settings, std::vector<ProbeSettings> probes, const ports::Clock& clock,
         Post post)
    : worker_(std::make_unique<Worker>(settings, std::move(probes), clock, std::move(post))) {}

Bus::~Bus() = default;

void Bus::poll(std::vector<std::size_t> probes, PollReply reply) { worker_->poll(probes, reply); }

bool Bus::hangs() const { return worker_->hangs(); }

std::unique_ptr<ports::Outlet> Bus::outlet(const OutletSettings& settings) {
  return std::make_unique<ModbusOutlet>(*worker_, settings);
}

}  // namespace limegate::modbus
