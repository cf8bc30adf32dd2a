#include "modbus/read_plan.h"

#include <gtest/gtest.h>

namespace limegate::modbus {
namespace {

ProbeSettings at(int unit, std::uint16_t address, Encoding encoding = Encoding::uint16,
                 Table table = Table::holding_register) {
  ProbeSettings probe;
  probe.unit = unit;
  probe.table = table;
  probe.address = address;
  probe.encoding = encoding;
  return probe;
}

std::vector<PlannedRead> plan(const std::vector<ProbeSettings>& probes,
                              const std::vector<std::size_t>& wanted) {
  return plan_reads(probes, wanted, std::vector<bool>(probes.size(), false));
}

using Indices = std::vector<std::size_t>;

TEST(ReadPlan, joins_neighbours_of_one_unit) {
  const auto reads = plan({at(1, 0, Encoding::float32), at(1, 2)}, {0, 1});
  ASSERT_EQ(reads.size(), 1U);
  EXPECT_EQ(reads[0].request, read_request(1, Table::holding_register, 0, 3));
  EXPECT_EQ(reads[0].probes, (Indices{0, 1}));
}

TEST(ReadPlan, reads_no_register_that_nobody_asked_for) {
  const auto reads = plan({at(1, 0), at(1, 2)}, {0, 1});
  ASSERT_EQ(reads.size(), 2U);
  EXPECT_EQ(reads[0].request.operand, 1);
  EXPECT_EQ(reads[1].request, read_request(1, Table::holding_register, 2, 1));
}

TEST(ReadPlan, keeps_units_and_tables_apart) {
  const std::vector<ProbeSettings> probes{at(1, 0), at(2, 1),
                                          at(1, 1, Encoding::uint16, Table::input_register),
                                          at(1, 1, Encoding::bit, Table::coil)};
  EXPECT_EQ(plan(probes, {0, 1, 2, 3}).size(), 4U);
}

TEST(ReadPlan, keeps_the_order_asked_for) {
  const auto reads = plan({at(9, 0), at(1, 5), at(4, 0)}, {0, 1, 2});
  ASSERT_EQ(reads.size(), 3U);
  EXPECT_EQ(reads[0].request.unit, 9);
  EXPECT_EQ(reads[1].request.unit, 1);
  EXPECT_EQ(reads[2].request.unit, 4);
}

TEST(ReadPlan, reads_one_place_once_for_two_probes) {
  const auto reads = plan({at(1, 3), at(1, 3, Encoding::int32)}, {1, 0});
  ASSERT_EQ(reads.size(), 1U);
  EXPECT_EQ(reads[0].request, read_request(1, Table::holding_register, 3, 2));
}

TEST(ReadPlan, leaves_a_probe_alone_that_must_be) {
  const std::vector<ProbeSettings> probes{at(1, 0), at(1, 1), at(1, 2)};
  EXPECT_EQ(plan_reads(probes, {0, 1, 2}, {false, true, false}).size(), 3U);
}

TEST(ReadPlan, stays_within_what_a_device_may_be_asked_at_once) {
  std::vector<ProbeSettings> probes;
  Indices all;
  for (std::uint16_t i = 0; i < 200; ++i) {
    probes.push_back(at(1, i));
    all.push_back(i);
  }
  std::size_t read = 0;
  for (const auto& planned : plan(probes, all)) {
    EXPECT_LE(planned.request.operand, 125);  // Modbus application protocol V1.1b3, section 6.3
    read += planned.request.operand;
  }
  EXPECT_EQ(read, 200U);
}

TEST(ReadPlan, does_not_run_past_the_last_address) {
  const auto reads = plan({at(1, 0xFFFF), at(1, 0)}, {0, 1});
  ASSERT_EQ(reads.size(), 2U);
  EXPECT_EQ(reads[0].request, read_request(1, Table::holding_register, 0xFFFF, 1));
}

}  // namespace
}  // namespace limegate::modbus
