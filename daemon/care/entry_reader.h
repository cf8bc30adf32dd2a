#pragma once

#include <string>
#include <string_view>

#include <tl/expected.hpp>

#include "care/book.h"

namespace limegate::care {

/// One entry. Its `what` and `unit` come to be as they are written here.
/// Errors: as for a row; one sentence.
[[nodiscard]] tl::expected<Entry, std::string> read_entry(Written& written);

/// A value and its unit written as one: "8.1dKH", "40 L".
struct Measured {
  std::string value, unit;
};
[[nodiscard]] Measured measured(std::string_view text);

/// In lower case and without blanks, as names and units are compared.
[[nodiscard]] std::string plain(std::string_view text);
/// Without the blanks before and after it.
[[nodiscard]] std::string trimmed(std::string_view text);
/// As it is shown again: what is no plain letter is a question mark, and not too long.
[[nodiscard]] std::string shown(std::string_view text);

}  // namespace limegate::care
