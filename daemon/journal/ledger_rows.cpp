#include "journal/ledger_rows.h"

#include <string_view>

#include <boost/crc.hpp>

namespace limegate::journal {
namespace {

/// Feeds fields to a CRC so that no two different rows give the same bytes.
class Sum {
 public:
  Sum& operator<<(std::string_view text) {
    *this << static_cast<std::int64_t>(text.size());
    crc_.process_bytes(text.data(), text.size());
    return *this;
  }
  Sum& operator<<(std::int64_t value) {
    for (unsigned shift = 0; shift < 64; shift += 8) {
      crc_.process_byte(static_cast<unsigned char>(static_cast<std::uint64_t>(value) >> shift));
    }
    return *this;
  }
  Sum& operator<<(const std::optional<std::int64_t>& value) {
    *this << static_cast<std::int64_t>(value.has_value());
    return *this << value.value_or(0);
  }
  [[nodiscard]] std::int64_t value() const { return crc_.checksum(); }

 private:
  boost::crc_32_type crc_;
};

}  // namespace

std::int64_t PulseRow::checksum() const {
  Sum sum;
  sum << station << id << volume_ul << duration_ms << reserved_lifetime_ms << reserved_wall_ms
      << end_lifetime_ms << end_wall_ms << boot << fate << counted_ul;
  return sum.value();
}

std::int64_t StirRow::checksum() const {
  Sum sum;
  sum << station << id << duration_ms << start_lifetime_ms << start_wall_ms << boot
      << end_lifetime_ms << end_wall_ms;
  return sum.value();
}

Checked<PulseRow> pulse_from(const Statement& statement) {
  PulseRow row;
  row.station = statement.text(0);
  row.id = statement.integer(1);
  row.volume_ul = statement.integer(2);
  row.duration_ms = statement.integer(3);
  row.reserved_lifetime_ms = statement.integer(4);
  row.reserved_wall_ms = statement.integer(5);
  row.end_lifetime_ms = statement.integer(6);
  row.end_wall_ms = statement.integer(7);
  row.boot = statement.text(8);
  row.fate = statement.integer(9);
  row.counted_ul = statement.integer(10);
  const bool sound = row.checksum() == statement.integer(11);
  return {std::move(row), sound};
}

Checked<StirRow> stir_from(const Statement& statement) {
  StirRow row;
  row.station = statement.text(0);
  row.id = statement.integer(1);
  row.duration_ms = statement.integer(2);
  row.start_lifetime_ms = statement.integer(3);
  row.start_wall_ms = statement.integer(4);
  row.boot = statement.text(5);
  row.end_lifetime_ms = statement.maybe_integer(6);
  row.end_wall_ms = statement.maybe_integer(7);
  const bool sound = row.checksum() == statement.integer(8);
  return {std::move(row), sound};
}

Stored<void> store(const Database& database, const PulseRow& row) {
  const auto statement =
      database.prepare(std::string{"INSERT OR REPLACE INTO pulses("} + kPulseColumns +
                       ") VALUES(?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11,?12)");
  return statement
      ->bind(row.station, row.id, row.volume_ul, row.duration_ms, row.reserved_lifetime_ms,
             row.reserved_wall_ms, row.end_lifetime_ms, row.end_wall_ms, row.boot, row.fate,
             row.counted_ul, row.checksum())
      .run();
}

Stored<void> store(const Database& database, const StirRow& row) {
  const auto statement = database.prepare(std::string{"INSERT OR REPLACE INTO stirs("} +
                                          kStirColumns + ") VALUES(?1,?2,?3,?4,?5,?6,?7,?8,?9)");
  return statement
      ->bind(row.station, row.id, row.duration_ms, row.start_lifetime_ms, row.start_wall_ms,
             row.boot, row.end_lifetime_ms, row.end_wall_ms, row.checksum())
      .run();
}

}  // namespace limegate::journal
