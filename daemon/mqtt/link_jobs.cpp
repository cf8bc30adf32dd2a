// What Link's thread does with paho. Nothing that paho throws goes further.

#include <algorithm>
#include <chrono>
#include <cstdint>
#include <utility>

#include <MQTTAsync.h>

#include "mqtt/link_core.h"
#include "mqtt/tls_diagnosis.h"

namespace limegate::mqtt {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// The same for every message, so that they keep their order, and acknowledged, so that neither a
/// lost one nor a delayed acknowledgement of TCP goes unnoticed.
constexpr int kQos = 1;
/// A broker never sends us a payload that would hurt: commands are short.
constexpr std::uint32_t kPacketMax = 64 * 1024;
constexpr auto kConnectWithin = 10s;
constexpr auto kLastWordsWithin = 1000ms;
constexpr auto kDisconnectWithin = 500ms;

void* context_of(int attempt) {
  // paho hands it back as it is, and nobody follows it.
  // NOLINTNEXTLINE(performance-no-int-to-ptr): a number in the place of a pointer, by design
  return reinterpret_cast<void*>(static_cast<std::intptr_t>(attempt));
}

::mqtt::const_message_ptr message_of(const Message& message) {
  return ::mqtt::make_message(message.topic, message.payload, kQos,
                              message.kept == Message::Kept::yes);
}

std::string place_of(const Settings& settings) {
  return settings.host + ":" + std::to_string(settings.port);
}

}  // namespace

std::string reason_text(int reason) {
  const char* const text = MQTTReasonCode_toString(static_cast<MQTTReasonCodes>(reason));
  return text == nullptr ? "reason " + std::to_string(reason) : text;
}

int reason_of(const ::mqtt::token& token) {
  // A refused CONNECT has it as its return code, a refused PUBLISH or SUBSCRIBE as its reason.
  return std::max(token.get_return_code(), static_cast<int>(token.get_reason_code()));
}

std::unique_ptr<::mqtt::async_client> Link::Core::make_client(int attempt) {
  const bool tls = settings_.transport == Settings::Transport::tls;
  auto client = std::make_unique<::mqtt::async_client>(
      (tls ? "mqtts://" : "mqtt://") + place_of(settings_), settings_.device,
      ::mqtt::create_options_builder().mqtt_version(MQTTVERSION_5).finalize());
  // All before the first connection: paho 1.2.0 can lock itself up otherwise.
  client->set_message_callback([this](const ::mqtt::const_message_ptr& message) {
    if (listener_.arrived(message->get_topic(), message->get_payload_str(),
                          message->is_retained())) {
      tell([this] { listener_.mail(); });
    }
  });
  client->set_disconnected_handler(
      [this, attempt](const ::mqtt::properties& /*properties*/, ::mqtt::ReasonCode reason) {
        const bool taken = reason == ::mqtt::SESSION_TAKEN_OVER;
        tell_failed(attempt, {taken ? Failure::Kind::taken_over : Failure::Kind::sent_away,
                              taken ? "another client came with our id '" + settings_.device + "'"
                                    : "the broker ended the connection (" +
                                          reason_text(static_cast<int>(reason)) + ")"});
      });
  client->set_connection_lost_handler([this, attempt](const std::string& /*cause*/) {
    tell_failed(attempt, {Failure::Kind::unreachable, "the connection broke"});
  });
  return client;
}

::mqtt::connect_options Link::Core::options(const std::string& password) {
  ::mqtt::connect_options_builder builder;
  builder.mqtt_version(MQTTVERSION_5)
      .clean_start(true)
      .keep_alive_interval(std::chrono::duration_cast<std::chrono::seconds>(settings_.keep_alive))
      .connect_timeout(kConnectWithin)
      .will(::mqtt::message(will_.topic, will_.payload, kQos, true));
  if (!settings_.user.empty()) {
    builder.user_name(settings_.user);
  }
  if (!password.empty()) {
    builder.password(password);
  }
  if (settings_.transport == Settings::Transport::tls) {
    ::mqtt::ssl_options_builder tls;
    tls.enable_server_cert_auth(true).verify(true);  // the second one checks the host's name
    if (!settings_.ca_file.empty()) {
      tls.trust_store(settings_.ca_file);
    }
    builder.ssl(tls.finalize());
  }
  return builder.finalize();
}

Failure Link::Core::failure_of(const ::mqtt::token& token) const {
  const int reason = reason_of(token);
  if (reason >= ::mqtt::UNSPECIFIED_ERROR) {
    return {reason == ::mqtt::SERVER_UNAVAILABLE || reason == ::mqtt::SERVER_BUSY
                ? Failure::Kind::unreachable
                : Failure::Kind::refused,
            reason == ::mqtt::UNSUPPORTED_PROTOCOL_VERSION
                ? "the broker does not speak MQTT 5"
                : "the broker refuses us (" + reason_text(reason) + ")"};
  }
  if (token.get_return_code() == 1) {  // a broker of MQTT 3 answers so: unacceptable version
    return {Failure::Kind::refused, "the broker does not speak MQTT 5"};
  }
  return {Failure::Kind::unreachable, "the broker does not answer at " + place_of(settings_)};
}

void Link::Core::connect(int attempt) {
  if (attempt != attempt_) {
    return;  // given up while this thread was busy
  }
  const auto password = files::read_secret(settings_.password, "The password of the MQTT broker");
  if (!password) {
    tell_failed(attempt, {Failure::Kind::refused, password.error()});
    return;
  }
  if (!password->warning.empty() && !std::exchange(password_warned_, true)) {
    tell([this, warning = password->warning] { listener_.warned(warning); });
  }
  try {
    // A client for each attempt. paho drops a connect without a word where it believes that the
    // connection before still stands or is being made, and tells the end of that one, and answers
    // to what was asked of it, whenever it gets to it: none of that may meet the new attempt.
    // The new one comes first: paho's threads end with its last client. paho calls back with its
    // lock held, and takes it to end a client: nothing is still busy with one that has ended.
    client_ = make_client(attempt);
    ::mqtt::connect_options chosen = options(password->text);
    // Last, and kept alive by a name until the call is over: copies of paho 1.2.0's options go on
    // pointing into the first one's properties.
    ::mqtt::properties properties;
    properties.add({::mqtt::property::MAXIMUM_PACKET_SIZE, kPacketMax});
    chosen.set_properties(properties);
    client_->connect(chosen, context_of(attempt), connect_answers_);
  } catch (const std::exception& error) {
    tell_failed(attempt, {Failure::Kind::unreachable,
                          std::string{"no connection can be tried ("} + error.what() + ")"});
  }
}

void Link::Core::diagnose(int attempt) {
  if (attempt != attempt_) {
    return;
  }
  tell_failed(attempt, tls_diagnosis(settings_));
}

void Link::Core::publish(int attempt, const std::vector<Message>& messages) {
  if (attempt != attempt_) {
    return;
  }
  try {
    for (const Message& message : messages) {
      client_->publish(message_of(message), context_of(attempt), publish_answers_);
    }
  } catch (const std::exception&) {
    // The connection broke a moment ago; that is told by its own way, and the next connection
    // publishes everything anew.
  }
}

void Link::Core::subscribe(int attempt, const std::vector<Filter>& filters) {
  if (attempt != attempt_) {
    return;
  }
  {
    const std::lock_guard lock{mutex_};
    awaited_ = filters.size();
    refusal_.clear();
  }
  try {
    // One by one: paho 1.2.0 crashes over a list of them with MQTT 5.
    for (const Filter& filter : filters) {
      const bool kept = filter.gets == Filter::Gets::kept_too;
      // Nothing of our own comes back. A command says whether it was published to be kept.
      client_->subscribe(filter.topic, kQos, context_of(attempt), subscribe_answers_,
                         ::mqtt::subscribe_options(
                             true, static_cast<::mqtt::byte>(filter.gets == Filter::Gets::news),
                             kept ? ::mqtt::subscribe_options::SEND_RETAINED_ON_SUBSCRIBE
                                  : ::mqtt::subscribe_options::DONT_SEND_RETAINED));
    }
  } catch (const std::exception&) {
    // As above.
  }
}

void Link::Core::finish(const std::vector<Message>& last_words) {
  const bool connected = [this] {
    const std::lock_guard lock{mutex_};
    return connected_;
  }();
  // Both outlive the client: paho's thread may still be busy with one when our wait for it is over.
  ::mqtt::delivery_token_ptr last;
  ::mqtt::token_ptr goodbye;
  try {
    if (connected) {
      for (const Message& message : last_words) {
        last = client_->publish(message_of(message));
      }
      if (last) {
        last->wait_for(kLastWordsWithin);
      }
      goodbye = client_->disconnect();
      goodbye->wait_for(kDisconnectWithin);
    }
  } catch (const std::exception&) {
    // It broke meanwhile: the will speaks for us.
  }
  client_.reset();
  const std::lock_guard lock{mutex_};
  finished_ = true;
  changed_.notify_all();
}

}  // namespace limegate::mqtt
