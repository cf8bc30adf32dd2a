#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include <tl/expected.hpp>

namespace limegate::mqtt {

/// Payloads as Homie 5 writes and reads them. Pure; any thread.
/// Source: the Homie convention 5.0.0, "Payload".

/// A finite number with so many decimals, never with an exponent, a plus sign or as "-0".
[[nodiscard]] std::string number_text(double value, int decimals);
/// The shortest plain decimal that reads back as the same number: for the ends of a format.
[[nodiscard]] std::string exact_number_text(double value);
[[nodiscard]] std::string boolean_text(bool value);
/// A text; an empty one is the single byte 0, because an empty payload deletes a retained topic.
[[nodiscard]] std::string string_payload(std::string text);

/// Each says in half a sentence why a payload is none of its kind.
[[nodiscard]] tl::expected<std::int64_t, std::string> read_integer(std::string_view payload);
[[nodiscard]] tl::expected<double, std::string> read_float(std::string_view payload);
[[nodiscard]] tl::expected<bool, std::string> read_boolean(std::string_view payload);
[[nodiscard]] tl::expected<std::string, std::string> read_string(std::string_view payload);

/// Whether the bytes are UTF-8 (RFC 3629: no overlong forms, no surrogates, nothing past U+10FFFF).
[[nodiscard]] bool is_utf8(std::string_view bytes);
/// An id of a device, node, property or alert: a-z, 0-9 and '-', not empty.
[[nodiscard]] bool is_id(std::string_view text);
/// Printable ASCII alone, as a topic of ours is: it can be published, logged and said as it stands.
[[nodiscard]] bool is_printable(std::string_view text);

/// What came from outside, fit to stand in a sentence: printable, and not long.
[[nodiscard]] std::string quoted(std::string_view payload);

}  // namespace limegate::mqtt
