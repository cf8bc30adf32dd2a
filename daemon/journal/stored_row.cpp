#include "journal/stored_row.h"

#include <bit>

#include <boost/crc.hpp>

namespace limegate::journal {

struct RowSum::Crc {
  boost::crc_32_type sum;
};

RowSum::RowSum() : crc_(std::make_unique<Crc>()) {}
RowSum::~RowSum() = default;

void RowSum::add(const std::string& text) {
  add(static_cast<std::int64_t>(text.size()));
  crc_->sum.process_bytes(text.data(), text.size());
}

void RowSum::add(std::int64_t value) {
  for (unsigned shift = 0; shift < 64; shift += 8) {
    crc_->sum.process_byte(static_cast<unsigned char>(static_cast<std::uint64_t>(value) >> shift));
  }
}

void RowSum::add(double value) { add(std::bit_cast<std::int64_t>(value)); }

void RowSum::add(const std::optional<std::int64_t>& value) {
  add(static_cast<std::int64_t>(value.has_value()));
  add(value.value_or(0));
}

std::int64_t RowSum::value() const { return crc_->sum.checksum(); }

}  // namespace limegate::journal
