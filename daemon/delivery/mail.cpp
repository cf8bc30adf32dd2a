// By SMTP with TLS, with libcurl.

#include <algorithm>
#include <ctime>
#include <memory>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "delivery/attempt.h"
#include "delivery/transfer.h"

namespace limegate::delivery {
namespace {

/// Nothing that could begin a header of its own.
std::string one_line(std::string text) {
  std::replace_if(
      text.begin(), text.end(),
      [](char letter) { return static_cast<unsigned char>(letter) < 0x20U || letter == 0x7f; },
      ' ');
  return text;
}

bool ascii(const std::string& text) {
  return std::all_of(text.begin(), text.end(),
                     [](char letter) { return static_cast<unsigned char>(letter) < 0x80U; });
}

/// An encoded word (RFC 2047) has 75 letters at most; each holds whole letters of UTF-8.
std::string encoded(const std::string& text) {
  constexpr std::size_t word_bytes = 20;
  std::string all;
  for (std::size_t at = 0; at < text.size();) {
    std::size_t end = std::min(at + word_bytes, text.size());
    while (end < text.size() && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) {
      --end;
    }
    all += (all.empty() ? "" : "\r\n ") + std::string{"=?UTF-8?Q?"};
    for (const char letter : text.substr(at, end - at)) {
      all += fmt::format("={:02X}", static_cast<unsigned>(static_cast<unsigned char>(letter)));
    }
    all += "?=";
    at = end;
  }
  return all;
}

std::string address(const std::string& plain) { return "<" + plain + ">"; }

struct ListCloser {
  void operator()(curl_slist* list) const { curl_slist_free_all(list); }
  void operator()(curl_mime* mime) const { curl_mime_free(mime); }
};

}  // namespace

// NOLINTBEGIN(cppcoreguidelines-pro-type-vararg): curl's interface
Attempt send_mail(const alerts::Mail& mail, const Envelope& envelope) {
  const auto password = files::read_secret(mail.password, "The password of the mail server");
  if (!password) {
    return {Attempt::Came::not_now, password.error()};
  }
  const bool tls = mail.security == alerts::Mail::Security::tls;
  Transfer transfer{fmt::format("{}://{}:{}", tls ? "smtps" : "smtp", mail.host, mail.port),
                    "smtp,smtps", mail.ca_file};
  CURL* const curl = transfer.handle();
  // Required, not tried: what strips STARTTLS gets nothing.
  curl_easy_setopt(curl, CURLOPT_USE_SSL, CURLUSESSL_ALL);
  if (!mail.user.empty()) {
    curl_easy_setopt(curl, CURLOPT_USERNAME, mail.user.c_str());
    curl_easy_setopt(curl, CURLOPT_PASSWORD, password->text.c_str());
  }
  curl_easy_setopt(curl, CURLOPT_MAIL_FROM, address(mail.from).c_str());
  std::unique_ptr<curl_slist, ListCloser> to;
  std::string all_to;
  for (const std::string& one : mail.to) {
    to.reset(curl_slist_append(to.release(), address(one).c_str()));
    all_to += (all_to.empty() ? "" : ", ") + address(one);
  }
  curl_easy_setopt(curl, CURLOPT_MAIL_RCPT, to.get());
  const std::string subject = one_line(envelope.subject);
  const std::time_t now = std::time(nullptr);
  transfer.add_header(fmt::format("Date: {:%a, %d %b %Y %H:%M:%S} +0000", fmt::gmtime(now)));
  transfer.add_header("From: Limegate " + address(mail.from));
  transfer.add_header("To: " + all_to);
  transfer.add_header("Subject: " + (ascii(subject) ? subject : encoded(subject)));
  // The same however often it is sent: a receiver can drop doubles.
  transfer.add_header("Message-ID: <" + one_line(envelope.id) + "@limegate.invalid>");
  transfer.add_header("Auto-Submitted: auto-generated");  // RFC 3834: nothing answers it
  const std::unique_ptr<curl_mime, ListCloser> mime{curl_mime_init(curl)};
  curl_mimepart* const part = curl_mime_addpart(mime.get());
  curl_mime_data(part, envelope.text.c_str(), envelope.text.size());
  curl_mime_type(part, "text/plain; charset=utf-8");
  curl_mime_encoder(part, "quoted-printable");
  curl_easy_setopt(curl, CURLOPT_MIMEPOST, mime.get());
  const CURLcode code = transfer.run();
  if (code == CURLE_OK) {
    return {Attempt::Came::delivered, "taken by " + mail.host};
  }
  const long response = transfer.response();  // NOLINT(google-runtime-int)
  std::string why = transfer.why(code);
  if (code == CURLE_USE_SSL_FAILED) {
    why = "it offers no TLS, so nothing was sent";
  } else if (code == CURLE_LOGIN_DENIED) {
    why = fmt::format("it refuses user and password ({})", response);
  } else if (response >= 400) {
    why = fmt::format("it answers {}: {}", response, why);
  }
  return {Attempt::Came::not_now,
          fmt::format("The mail server {}:{}: {}", mail.host, mail.port, why)};
}
// NOLINTEND(cppcoreguidelines-pro-type-vararg)

}  // namespace limegate::delivery
