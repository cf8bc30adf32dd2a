#include "mqtt/payload.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <utility>

namespace limegate::mqtt {
namespace {

constexpr std::size_t kQuotedMax = 40;

bool printable(char c) { return c >= 0x20 && c < 0x7F; }

/// "... is not UTF-8"
tl::unexpected<std::string> not_so(const char* what) { return tl::unexpected(std::string{what}); }

bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// Takes the digits at the front; how many there were.
std::size_t take_digits(std::string_view& text) {
  const auto end = std::find_if_not(text.begin(), text.end(), is_digit);
  const auto count = static_cast<std::size_t>(end - text.begin());
  text.remove_prefix(count);
  return count;
}

bool take_one_of(std::string_view& text, std::string_view choices) {
  if (text.empty() || choices.find(text.front()) == std::string_view::npos) {
    return false;
  }
  text.remove_prefix(1);
  return true;
}

/// -digits[.digits][e[-]digits], digits on either side of the point.
bool is_float(std::string_view text) {
  take_one_of(text, "-");
  std::size_t digits = take_digits(text);
  if (take_one_of(text, ".")) {
    digits += take_digits(text);
  }
  if (digits == 0) {
    return false;
  }
  if (take_one_of(text, "eE")) {
    take_one_of(text, "-");
    if (take_digits(text) == 0) {
      return false;
    }
  }
  return text.empty();
}

/// How many bytes a UTF-8 character takes by its first one, and the bounds of its second; zero if
/// no character begins so (RFC 3629, section 4).
struct Lead {
  std::size_t length;
  unsigned char low, high;
};
Lead lead_of(unsigned char first) {
  if (first < 0x80) {
    return {1, 0, 0};
  }
  if (first >= 0xC2 && first <= 0xDF) {
    return {2, 0x80, 0xBF};
  }
  if (first >= 0xE0 && first <= 0xEF) {
    return {3, static_cast<unsigned char>(first == 0xE0 ? 0xA0 : 0x80),
            static_cast<unsigned char>(first == 0xED ? 0x9F : 0xBF)};
  }
  if (first >= 0xF0 && first <= 0xF4) {
    return {4, static_cast<unsigned char>(first == 0xF0 ? 0x90 : 0x80),
            static_cast<unsigned char>(first == 0xF4 ? 0x8F : 0xBF)};
  }
  return {0, 0, 0};
}

template <class... Format>
std::string chars_of(double value, Format... format) {
  std::array<char, 400> text{};  // the largest double has 309 digits before the point
  const auto end = std::to_chars(text.begin(), text.end(), value, format...).ptr;
  return {text.begin(), end};
}

/// "-0.00" is 0.00.
std::string without_sign_of_zero(std::string text) {
  if (text.front() == '-' && text.find_first_of("123456789") == std::string::npos) {
    text.erase(0, 1);
  }
  return text;
}

}  // namespace

std::string number_text(double value, int decimals) {
  return without_sign_of_zero(chars_of(value, std::chars_format::fixed, decimals));
}

std::string exact_number_text(double value) {
  return without_sign_of_zero(chars_of(value, std::chars_format::fixed));
}

std::string boolean_text(bool value) { return value ? "true" : "false"; }

std::string string_payload(std::string text) {
  return text.empty() ? std::string(1, '\0') : std::move(text);
}

tl::expected<std::int64_t, std::string> read_integer(std::string_view payload) {
  std::int64_t value = 0;
  const char* const end = payload.data() + payload.size();
  const auto read = std::from_chars(payload.data(), end, value);
  if (read.ec != std::errc{} || read.ptr != end) {
    return not_so("is not a whole number of digits, with '-' if negative");
  }
  return value;
}

tl::expected<double, std::string> read_float(std::string_view payload) {
  if (!is_float(payload)) {
    return not_so("is not a number of digits, '-', '.' and 'e'");
  }
  double value = 0;
  const auto read = std::from_chars(payload.data(), payload.data() + payload.size(), value);
  if (read.ec != std::errc{} || !std::isfinite(value)) {
    return not_so("is a number out of all bounds");
  }
  return value;
}

tl::expected<bool, std::string> read_boolean(std::string_view payload) {
  if (payload != "true" && payload != "false") {
    return not_so("is neither 'true' nor 'false'");
  }
  return payload == "true";
}

tl::expected<std::string, std::string> read_string(std::string_view payload) {
  if (payload.empty()) {
    return not_so("is no text: an empty one is the single byte 0");
  }
  if (!is_utf8(payload)) {
    return not_so("is not UTF-8");
  }
  return payload == std::string_view{"\0", 1} ? std::string{} : std::string{payload};
}

bool is_utf8(std::string_view bytes) {
  while (!bytes.empty()) {
    const Lead lead = lead_of(static_cast<unsigned char>(bytes.front()));
    if (lead.length == 0 || lead.length > bytes.size()) {
      return false;
    }
    for (std::size_t i = 1; i < lead.length; ++i) {
      const auto next = static_cast<unsigned char>(bytes[i]);
      if (next < (i == 1 ? lead.low : 0x80) || next > (i == 1 ? lead.high : 0xBF)) {
        return false;
      }
    }
    bytes.remove_prefix(lead.length);
  }
  return true;
}

bool is_id(std::string_view text) {
  return !text.empty() && std::all_of(text.begin(), text.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || is_digit(c) || c == '-';
  });
}

bool is_printable(std::string_view text) {
  return std::all_of(text.begin(), text.end(), printable);
}

std::string quoted(std::string_view payload) {
  const bool cut = payload.size() > kQuotedMax;
  std::string text{payload.substr(0, kQuotedMax)};
  for (char& c : text) {
    c = printable(c) ? c : '?';
  }
  return "'" + text + (cut ? "...'" : "'");
}

}  // namespace limegate::mqtt
