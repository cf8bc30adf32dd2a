#include "config/deliver_reader.h"

#include <algorithm>
#include <chrono>
#include <string_view>
#include <utility>

#include "config/secret_reader.h"

namespace limegate::config {
namespace {

using alerts::Delivery;
using alerts::Destination;
using alerts::Mail;
using alerts::Program;
using alerts::Webhook;

/// A day: what may wait longer needs nobody.
constexpr std::int64_t kDelayMaxMin = 1440;
constexpr int kSubmission = 587;   // RFC 6409
constexpr int kSubmissions = 465;  // RFC 8314

/// Nothing that could end a line of a mail's head or of SMTP.
bool is_address(std::string_view text) {
  const std::size_t at = text.find('@');
  return at != std::string_view::npos && at > 0 && at + 1 < text.size() &&
         text.find('@', at + 1) == std::string_view::npos &&
         std::none_of(text.begin(), text.end(), [](unsigned char letter) {
           return letter <= 0x20U || letter == '<' || letter == '>' || letter == 0x7fU;
         });
}

std::string read_address(TableReader& reader, std::string_view key) {
  std::string address = reader.text(key);
  if (!address.empty() && !is_address(address)) {
    reader.complain(key, "must be an address with a host: keeper@example.org");
  }
  return address;
}

Mail read_mail(TableReader& reader) {
  Mail mail;
  mail.host = reader.text("server");
  if (mail.host.find_first_of("/:@ ") != std::string::npos) {
    reader.complain("server", "must be the name of a host alone; its port has a key of its own");
  }
  mail.security = reader.choice<Mail::Security>(
      "security", {{"starttls", Mail::Security::starttls}, {"tls", Mail::Security::tls}});
  mail.port = static_cast<int>(reader.integer(
      "port", 1, 65535, mail.security == Mail::Security::tls ? kSubmissions : kSubmission));
  mail.user = reader.maybe_text("user").value_or("");
  mail.password = read_secret(reader, "password_file", "password_credential");
  if (mail.user.empty() != std::holds_alternative<std::monostate>(mail.password)) {
    reader.complain("user", "and a password go together: name both, or none");
  }
  mail.from = read_address(reader, "from");
  mail.to = {read_address(reader, "to")};
  mail.ca_file = reader.maybe_text("ca_file").value_or("");
  return mail;
}

std::string read_url(TableReader& reader, std::string_view key, const std::string& url) {
  const bool https = url.rfind("https://", 0) == 0;
  const bool http = url.rfind("http://", 0) == 0;
  const std::string host = url.substr(std::min(url.size(), std::size_t{https ? 8U : 7U}));
  if (!url.empty() && ((!https && !http) || host.empty() || host.front() == '/' ||
                       url.find_first_of(" \t\r\n") != std::string::npos)) {
    reader.complain(key, "must be written as https://HOST/PATH");
  }
  return url;
}

/// Whether it leaves this machine in clear text.
bool in_clear(const std::string& url) {
  return url.rfind("http://", 0) == 0 && url.rfind("http://127.", 0) != 0 &&
         url.rfind("http://localhost", 0) != 0 && url.rfind("http://[::1]", 0) != 0;
}

Webhook read_webhook(TableReader& reader, std::vector<std::string>& warnings) {
  Webhook webhook;
  webhook.url = read_url(reader, "url", reader.text("url"));
  webhook.token = read_secret(reader, "token_file", "token_credential");
  webhook.ca_file = reader.maybe_text("ca_file").value_or("");
  if (in_clear(webhook.url) && !std::holds_alternative<std::monostate>(webhook.token)) {
    warnings.push_back(
        reader.path() +
        ": the token goes there in clear text, for everybody on the way to read. Use "
        "https://.");
  }
  return webhook;
}

Program read_program(TableReader& reader) {
  Program program;
  program.path = reader.text("path");
  if (!program.path.empty() && program.path.front() != '/') {
    reader.complain("path", "must be a whole path, from / on");
  }
  program.time_limit = std::chrono::seconds{reader.integer("time_limit_s", 1, 600, 30)};
  return program;
}

template <class Way>
void add(TableReader& reader, Way way, Delivery& delivery) {
  Destination destination;
  destination.name = reader.text("name");
  if (!destination.name.empty() && !is_name(destination.name)) {
    reader.complain("name", "may have only a-z, 0-9 and '-', 40 of them at most");
  }
  for (const Destination& other : delivery.destinations) {
    if (!destination.name.empty() && other.name == destination.name) {
      reader.complain("name",
                      "another destination has the name '" + destination.name + "' already");
    }
  }
  destination.after = std::chrono::minutes{reader.integer("after_min", 0, kDelayMaxMin, 0)};
  using alerts::Urgency;
  destination.least =
      reader.choice<Urgency>("least_urgent", {{"when-you-can", Urgency::when_you_can},
                                              {"act-today", Urgency::act_today},
                                              {"act-now", Urgency::act_now}});
  destination.way = std::move(way);
  reader.finish();
  delivery.destinations.push_back(std::move(destination));
}

}  // namespace

Delivery read_deliver(TableReader& reader, std::vector<std::string>& warnings) {
  Delivery delivery;
  delivery.state_dir = reader.text("state_dir", delivery.state_dir);
  delivery.heartbeat_url =
      read_url(reader, "heartbeat_url", reader.maybe_text("heartbeat_url").value_or(""));
  delivery.heartbeat_every = std::chrono::minutes{reader.integer("heartbeat_every_min", 1, 60, 5)};
  delivery.all_is_well_at = reader.maybe_time_of_day("all_is_well_at");
  for (TableReader& mail : reader.tables("mail")) {
    add(mail, read_mail(mail), delivery);
  }
  for (TableReader& webhook : reader.tables("webhook")) {
    add(webhook, read_webhook(webhook, warnings), delivery);
  }
  for (TableReader& program : reader.tables("program")) {
    add(program, read_program(program), delivery);
  }
  reader.finish();
  if (delivery.destinations.empty() && delivery.heartbeat_url.empty()) {
    reader.complain("mail",
                    "names no destination: add [[deliver.mail]], [[deliver.webhook]] or "
                    "[[deliver.program]], or a heartbeat_url");
  } else if (!delivery.destinations.empty() &&
             std::all_of(delivery.destinations.begin(), delivery.destinations.end(),
                         [](const Destination& one) { return one.after > Duration::zero(); })) {
    warnings.emplace_back(
        "deliver: every destination has an after_min, so nobody hears of anything at once.");
  }
  return delivery;
}

}  // namespace limegate::config
