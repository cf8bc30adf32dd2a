// A line at the control socket: it is a request of ours, or the answer says what is wrong with it.
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "fuzz/promise.h"
#include "web/request.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using limegate::fuzz::promise;
  const auto read = limegate::web::parse_request({reinterpret_cast<const char*>(data), size});
  if (read) {
    // It goes back with the answer, which is a line.
    const std::string line = limegate::web::result_of(read->id, true).dump();
    promise(line.find('\n') == std::string::npos, "an answer is one line");
    return 0;
  }
  const auto& refused = read.error();
  promise(refused.at("jsonrpc") == "2.0" && refused.contains("id"), "a refusal is JSON-RPC 2.0");
  promise(refused.at("error").at("code").is_number_integer(), "a refusal has a code");
  promise(!refused.at("error").at("message").get<std::string>().empty(), "a refusal says why");
  promise(refused.dump().find('\n') == std::string::npos, "a refusal is one line");
  return 0;
}
