#include "app/keepers_answers.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <iostream>
#include <system_error>

#include <fmt/format.h>

#include "app/asking.h"
#include "app/exit_code.h"
#include "app/terminal.h"
#include "care/entry_reader.h"

namespace limegate::app {
namespace {

tl::unexpected<int> left() {
  print("\nLeft. Everything that was done is in the book: limegate commission goes on here.\n");
  return tl::unexpected(static_cast<int>(kFine));
}

std::optional<double> number_of(const std::string& digits) {
  double value = 0.0;
  const char* const end = digits.data() + digits.size();
  const auto read = std::from_chars(digits.data(), end, value);
  return read.ec == std::errc{} && read.ptr == end && std::isfinite(value) ? std::optional{value}
                                                                           : std::nullopt;
}

}  // namespace

void say(const std::string& text) {
  const auto terminal = terminal_size();
  print(terminal ? wrapped(text, terminal->columns) : text);
}

tl::expected<std::optional<std::string>, int> ask_for(const std::string& question) {
  say(question);
  print("> ");
  std::string line;
  if (!std::getline(std::cin, line)) {
    return left();
  }
  const std::string said = care::shown(care::trimmed(line));
  const std::string plain = care::plain(said);
  if (plain == "quit" || plain == "no") {
    return left();
  }
  return plain == "skip" ? std::nullopt : std::optional{said};
}

tl::expected<std::optional<std::string>, int> choose(
    const std::string& question, std::initializer_list<std::string_view> words) {
  std::string all;
  for (const std::string_view word : words) {
    all += fmt::format("{}, ", word);
  }
  const std::string choices = fmt::format("Say {}skip or quit.\n", all);
  for (std::string text = question + choices;; text = choices) {
    auto said = ask_for(text);
    if (!said || !*said) {
      return said;
    }
    const std::string word = care::plain(**said);
    if (std::find(words.begin(), words.end(), word) != words.end()) {
      return std::optional{word};
    }
  }
}

tl::expected<bool, int> word_for(const std::string& question) {
  const auto said = choose(question, {"yes"});
  return said ? tl::expected<bool, int>{said->has_value()} : tl::unexpected(said.error());
}

tl::expected<std::optional<double>, int> ask_number(const std::string& question,
                                                    std::string_view unit) {
  for (;;) {
    auto said = ask_for(question);
    if (!said) {
      return tl::unexpected(said.error());
    }
    if (!*said) {
      return std::optional<double>{};
    }
    const care::Measured measured = care::measured(**said);
    const auto number = number_of(measured.value);
    if (number && (measured.unit.empty() || care::plain(measured.unit) == care::plain(unit))) {
      return number;
    }
    say(fmt::format("Write a number in {}, with a point before decimals; or skip, or quit.\n",
                    unit));
  }
}

}  // namespace limegate::app
