#include "mqtt/input_mail.h"

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <utility>

namespace limegate::mqtt {
namespace {

/// No value is longer; what is longer is kept as an empty one, which says nothing.
constexpr std::size_t kPayloadMax = 64;

std::string_view trimmed(std::string_view text) {
  const auto from = text.find_first_not_of(" \t\r\n");
  if (from == std::string_view::npos) {
    return {};
  }
  return text.substr(from, text.find_last_not_of(" \t\r\n") - from + 1);
}

}  // namespace

std::optional<double> read_input(std::string_view payload, rules::Input::Kind kind) {
  const std::string_view text = trimmed(payload);
  if (kind == rules::Input::Kind::digital) {
    std::string word{text};
    std::transform(word.begin(), word.end(), word.begin(),
                   [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    if (word == "on" || word == "true" || word == "1") {
      return 1.0;
    }
    return word == "off" || word == "false" || word == "0" ? std::optional{0.0} : std::nullopt;
  }
  double value = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool whole = read.ec == std::errc{} && read.ptr == text.data() + text.size();
  return whole && std::isfinite(value) ? std::optional{value} : std::nullopt;
}

InputMail::InputMail(std::vector<InputTopic> topics)
    : topics_(std::move(topics)), waiting_(topics_.size()) {}

bool InputMail::offer(std::string_view topic, std::string_view payload, Age age) {
  bool ours = false;
  for (std::size_t i = 0; i < topics_.size(); ++i) {
    if (topics_[i].topic != topic) {
      continue;
    }
    ours = true;
    if (age == Age::fresh) {
      const std::lock_guard lock{mutex_};
      waiting_[i] = std::string{payload.size() > kPayloadMax ? std::string_view{} : payload};
    }
  }
  return ours;
}

std::vector<InputMail::News> InputMail::take() {
  std::vector<News> news;
  const std::lock_guard lock{mutex_};
  for (std::size_t i = 0; i < waiting_.size(); ++i) {
    if (auto payload = std::exchange(waiting_[i], std::nullopt)) {
      news.push_back({i, std::move(*payload)});
    }
  }
  return news;
}

}  // namespace limegate::mqtt
