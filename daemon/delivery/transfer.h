#pragma once

#include <memory>
#include <string>

#include <curl/curl.h>

#include "delivery/attempt.h"

namespace limegate::delivery {

/// One transfer of libcurl with what every one of ours has: limits on time, a checked host name, no
/// redirects, nothing but the protocols named, no signals.
class Transfer {
 public:
  /// `protocols` as CURLOPT_PROTOCOLS_STR takes them: "https,http".
  Transfer(const std::string& url, const char* protocols, const std::string& ca_file);

  ~Transfer() = default;
  // curl knows where it lies.
  Transfer(const Transfer&) = delete;
  Transfer& operator=(const Transfer&) = delete;
  Transfer(Transfer&&) = delete;
  Transfer& operator=(Transfer&&) = delete;

  [[nodiscard]] CURL* handle() const { return curl_.get(); }
  void add_header(const std::string& line);
  /// CURLE_OK, or what went wrong, in curl's words and never with what was sent.
  [[nodiscard]] CURLcode run();
  [[nodiscard]] std::string why(CURLcode code) const;
  [[nodiscard]] long response() const;  // NOLINT(google-runtime-int): as curl has it

 private:
  struct Closer {
    void operator()(CURL* curl) const { curl_easy_cleanup(curl); }
    void operator()(curl_slist* list) const { curl_slist_free_all(list); }
  };
  std::unique_ptr<CURL, Closer> curl_;
  std::unique_ptr<curl_slist, Closer> headers_;
  std::string error_;
  curl_off_t dropped_ = 0;  ///< bytes of the receiver's body
};

}  // namespace limegate::delivery
