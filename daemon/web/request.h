#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <variant>

#include <nlohmann/json.hpp>
#include <tl/expected.hpp>

#include "alerts/command.h"
#include "station/records.h"

namespace limegate::web {

/// What a client of the control socket asks for.
struct Request {
  struct Status {
    enum class Times { once, each_second } times = Times::once;
    std::string station = {};  ///< empty: all of them
  };
  struct Command {
    std::string station;  ///< empty: the only one there is, or the daemon itself
    alerts::Asked what;
  };
  /// The newest messages about alerts: those that came after the one of this id; all that are kept
  /// where it is not known.
  struct Messages {
    std::string after;
  };
  /// Entries of the keeper's book after this number.
  struct Book {
    std::string station;  ///< empty: the only one there is
    std::int64_t after = 0;
  };
  /// A test message by every way.
  struct TestAlert {};
  /// What limegate-deliver found out; its time is to be filled in.
  struct Found {
    station::Event event;
  };
  nlohmann::json id;  ///< given back with the answer
  std::variant<Status, Command, Messages, Book, TestAlert, Found> what;
};

/// Reads one line of the control socket: a JSON-RPC 2.0 request.
/// Methods and their parameters: `status` {watch: bool, station: text, may be left out}; `messages`
/// {after: text, may be left out}; `test-alert`; `found` {code, sentence, about: text, may be left
/// out} from limegate-deliver; `book` {station, after: number, may be left out}; to a station
/// {station: text, may be left out} with `pause` {minutes}, `resume`, `acknowledge` {alert: text,
/// may be left out}, `release` {hold}, `shelve` {alert, minutes, because}, `set-day-volume` {ml},
/// `stir`, `run-attended` {ml}, `record` {what, value, unit, kit, at: texts, and sure: bool; all
/// but what may be left out}, `undo` {number}, `switch-all-off` (left out: all). Errors: the answer
/// to send, with the codes of JSON-RPC 2.0; its message names the place.
[[nodiscard]] tl::expected<Request, nlohmann::json> parse_request(std::string_view line);

/// The answer that carries a result.
[[nodiscard]] nlohmann::json result_of(const nlohmann::json& id, nlohmann::json result);

}  // namespace limegate::web
