#include "modbus/read_plan.h"

#include <algorithm>
#include <cstdint>
#include <tuple>

#include "modbus/decode.h"

namespace limegate::modbus {
namespace {

struct Wish {
  std::size_t rank = 0;  ///< place in the caller's list
  std::size_t probe = 0;
  bool alone = false;
  Request request;
};

auto place_of(const Wish& wish) {
  return std::tuple{wish.request.unit, wish.request.function, wish.request.address, wish.rank};
}

std::uint32_t end_of(const Request& request) {
  return std::uint32_t{request.address} + request.operand;
}

bool joins(const Request& so_far, const Request& next) {
  // The standard allows 125 registers and 2000 bits; 64 is ample and safe for small devices.
  constexpr std::uint32_t width_max = 64;
  return so_far.unit == next.unit && so_far.function == next.function &&
         next.address <= end_of(so_far) && end_of(next) - so_far.address <= width_max;
}

}  // namespace

std::vector<PlannedRead> plan_reads(const std::vector<ProbeSettings>& probes,
                                    const std::vector<std::size_t>& wanted,
                                    const std::vector<bool>& alone) {
  std::vector<Wish> wishes;
  wishes.reserve(wanted.size());
  for (const std::size_t probe : wanted) {
    const ProbeSettings& p = probes[probe];
    wishes.push_back({wishes.size(), probe, alone[probe],
                      read_request(p.unit, p.table, p.address, width_of(p))});
  }
  std::sort(wishes.begin(), wishes.end(),
            [](const Wish& a, const Wish& b) { return place_of(a) < place_of(b); });

  struct Ranked {
    std::size_t rank;
    bool alone;
    PlannedRead read;
  };
  std::vector<Ranked> reads;
  for (const Wish& wish : wishes) {
    const bool join = !reads.empty() && !reads.back().alone && !wish.alone &&
                      joins(reads.back().read.request, wish.request);
    if (!join) {
      reads.push_back({wish.rank, wish.alone, {wish.request, {wish.probe}}});
      continue;
    }
    Request& request = reads.back().read.request;
    const std::uint32_t end = std::max(end_of(request), end_of(wish.request));
    request.operand = static_cast<std::uint16_t>(end - request.address);
    reads.back().read.probes.push_back(wish.probe);
    reads.back().rank = std::min(reads.back().rank, wish.rank);
  }
  std::sort(reads.begin(), reads.end(),
            [](const Ranked& a, const Ranked& b) { return a.rank < b.rank; });
  std::vector<PlannedRead> plan;
  plan.reserve(reads.size());
  for (Ranked& ranked : reads) {
    plan.push_back(std::move(ranked.read));
  }
  return plan;
}

}  // namespace limegate::modbus
