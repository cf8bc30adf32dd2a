#include "delivery/transfer.h"

#include <array>

namespace limegate::delivery {
namespace {

// NOLINTBEGIN(google-runtime-int): as curl takes them
constexpr long kConnectWithinS = 15;
constexpr long kAllWithinS = 45;
// NOLINTEND(google-runtime-int)

/// What a receiver says beside its status is of no interest.
constexpr curl_off_t kBodyMax = 65536;

/// Nobody waits for a body without an end: too few bytes taken ends the transfer.
std::size_t drop(char* /*bytes*/, std::size_t size, std::size_t count, void* dropped) {
  auto& sum = *static_cast<curl_off_t*>(dropped);
  sum += static_cast<curl_off_t>(size * count);
  return sum > kBodyMax ? 0 : size * count;
}

}  // namespace

// NOLINTBEGIN(cppcoreguidelines-pro-type-vararg): curl's interface
Transfer::Transfer(const std::string& url, const char* protocols, const std::string& ca_file)
    : curl_(curl_easy_init()), error_(CURL_ERROR_SIZE, '\0') {
  curl_easy_setopt(handle(), CURLOPT_URL, url.c_str());
  curl_easy_setopt(handle(), CURLOPT_PROTOCOLS_STR, protocols);
  curl_easy_setopt(handle(), CURLOPT_FOLLOWLOCATION, 0L);
  curl_easy_setopt(handle(), CURLOPT_CONNECTTIMEOUT, kConnectWithinS);
  curl_easy_setopt(handle(), CURLOPT_TIMEOUT, kAllWithinS);
  curl_easy_setopt(handle(), CURLOPT_NOSIGNAL, 1L);
  curl_easy_setopt(handle(), CURLOPT_SSL_VERIFYPEER, 1L);
  curl_easy_setopt(handle(), CURLOPT_SSL_VERIFYHOST, 2L);
  curl_easy_setopt(handle(), CURLOPT_SSLVERSION, CURL_SSLVERSION_TLSv1_2);
  curl_easy_setopt(handle(), CURLOPT_NETRC, CURL_NETRC_IGNORED);
  curl_easy_setopt(handle(), CURLOPT_PROXY, "");
  curl_easy_setopt(handle(), CURLOPT_WRITEFUNCTION, drop);
  curl_easy_setopt(handle(), CURLOPT_WRITEDATA, &dropped_);
  curl_easy_setopt(handle(), CURLOPT_ERRORBUFFER, error_.data());
  if (!ca_file.empty()) {
    curl_easy_setopt(handle(), CURLOPT_CAINFO, ca_file.c_str());
  }
}

void Transfer::add_header(const std::string& line) {
  headers_.reset(curl_slist_append(headers_.release(), line.c_str()));
}

CURLcode Transfer::run() {
  if (headers_) {
    curl_easy_setopt(handle(), CURLOPT_HTTPHEADER, headers_.get());
  }
  return curl_easy_perform(handle());
}

std::string Transfer::why(CURLcode code) const {
  const std::string detail = error_.c_str();
  return detail.empty() ? std::string{curl_easy_strerror(code)} : detail;
}

long Transfer::response() const {  // NOLINT(google-runtime-int)
  long response = 0;               // NOLINT(google-runtime-int)
  curl_easy_getinfo(handle(), CURLINFO_RESPONSE_CODE, &response);
  return response;
}
// NOLINTEND(cppcoreguidelines-pro-type-vararg)

}  // namespace limegate::delivery
