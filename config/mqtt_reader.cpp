#include "config/mqtt_reader.h"

#include <algorithm>
#include <chrono>
#include <string_view>
#include <variant>

#include "config/port.h"
#include "config/secret_reader.h"
#include "mqtt/payload.h"

namespace limegate::config {
namespace {

using mqtt::Settings;

constexpr std::string_view kPlain = "mqtt://";
constexpr std::string_view kTls = "mqtts://";
constexpr int kPortPlain = 1883;  // as registered with IANA
constexpr int kPortTls = 8883;
constexpr std::size_t kTopicMax = 128;

bool starts_with(std::string_view text, std::string_view start) {
  return text.substr(0, start.size()) == start;
}

/// A name or an IPv4 address.
bool is_host(std::string_view text) {
  return !text.empty() && text.find_first_not_of(
                              "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
                              "0123456789.-_") == std::string_view::npos;
}

void read_broker(TableReader& reader, Settings& settings) {
  const std::string broker = reader.text("broker");
  if (broker.empty()) {
    return;  // told
  }
  const bool tls = starts_with(broker, kTls);
  std::string_view rest = broker;
  rest.remove_prefix(tls ? kTls.size() : starts_with(broker, kPlain) ? kPlain.size() : 0);
  settings.transport = tls ? Settings::Transport::tls : Settings::Transport::plain;
  settings.port = tls ? kPortTls : kPortPlain;
  const std::size_t colon = rest.find(':');
  settings.host = std::string{rest.substr(0, colon)};
  bool port_fine = true;
  if (colon != std::string_view::npos) {
    const auto port = read_port(rest.substr(colon + 1));
    port_fine = port.has_value();
    settings.port = port.value_or(settings.port);
  }
  if (rest.size() == broker.size() || !is_host(settings.host) || !port_fine) {
    reader.complain("broker",
                    "must be written as mqtt://HOST:PORT or, with TLS, mqtts://HOST:PORT; "
                    "user and password have keys of their own");
  }
}

std::string read_id(TableReader& reader, std::string_view key, const std::string& otherwise) {
  std::string id = reader.text(key, otherwise);
  if (!mqtt::is_id(id)) {
    reader.complain(key, "may have only a-z, 0-9 and '-', as Homie demands");
  }
  return id;
}

void read_password(TableReader& reader, Settings& settings) {
  settings.user = reader.maybe_text("user").value_or("");
  settings.password = read_secret(reader, "password_file", "password_credential");
  const bool none = std::holds_alternative<std::monostate>(settings.password);
  if (!none && settings.user.empty()) {
    reader.complain("user", "is missing: a password goes with a user");
  }
}

/// A topic, or what one begins with, as MQTT 5 has it, without what only a filter may have, and
/// outside our own tree, where every message has a meaning.
std::string read_topic(TableReader& reader, std::string_view key, std::string topic,
                       const std::string& domain) {
  const bool plain = std::all_of(topic.begin(), topic.end(), [](char c) {
    return c > ' ' && c < 0x7F && c != '+' && c != '#';
  });
  const bool slashes_fine = !topic.empty() && topic.front() != '/' && topic.back() != '/' &&
                            topic.find("//") == std::string::npos;
  if (!plain || !slashes_fine || topic.front() == '$' || topic.size() > kTopicMax) {
    reader.complain(key, "is a topic without +, #, blanks and empty levels, of 1 to " +
                             std::to_string(kTopicMax) + " characters, that does not begin with $");
  } else if (topic == domain || starts_with(topic, domain + "/")) {
    reader.complain(key, "can't be inside our own tree below " + domain);
  }
  return topic;
}

void read_discovery(TableReader& reader, Settings& settings) {
  const auto prefix = reader.maybe_text("discovery_prefix");
  const auto birth = reader.maybe_text("discovery_birth_topic");
  if (prefix) {
    settings.discovery_prefix = read_topic(reader, "discovery_prefix", *prefix, settings.domain);
    settings.discovery_birth_topic = settings.discovery_prefix + "/status";
  } else if (birth) {
    reader.complain("discovery_prefix", "is missing: discovery_birth_topic goes with it");
  }
  if (birth) {
    settings.discovery_birth_topic =
        read_topic(reader, "discovery_birth_topic", *birth, settings.domain);
  }
}

}  // namespace

Settings read_mqtt(TableReader& reader, std::vector<std::string>& warnings) {
  Settings settings;
  read_broker(reader, settings);
  settings.domain = read_id(reader, "domain", settings.domain);
  settings.device = read_id(reader, "device", settings.device);
  read_discovery(reader, settings);
  read_password(reader, settings);
  settings.ca_file = reader.maybe_text("ca_file").value_or("");
  settings.publish_every = std::chrono::seconds{reader.integer("publish_every_s", 1, 600, 5)};
  const bool plain = settings.transport == Settings::Transport::plain;
  if (plain && !settings.ca_file.empty()) {
    reader.complain("ca_file", "goes with mqtts:// only; this broker is asked without TLS");
  }
  const bool loopback = settings.host == "localhost" || starts_with(settings.host, "127.");
  if (plain && !loopback && !settings.user.empty()) {
    warnings.push_back("MQTT: user and password go to " + settings.host +
                       " in clear text, for everybody on the way to read. Use mqtts://.");
  }
  reader.finish();
  return settings;
}

}  // namespace limegate::config
