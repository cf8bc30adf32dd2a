#pragma once

#include <functional>
#include <string>

#include <boost/beast/http/message.hpp>
#include <boost/beast/http/string_body.hpp>

#include "alerts/command.h"
#include "page/answers.h"
#include "page/doorkeeper.h"
#include "station/command.h"

namespace limegate::page {

using Request = boost::beast::http::request<boost::beast::http::string_body>;

/// Begins a session with {"token": text}, ends it, or says its key: null where there is none.
[[nodiscard]] Answer session_answer(Doorkeeper& doorkeeper, const Request& request,
                                    bool from_loopback, Doorkeeper::Now now);

using Obey = std::function<station::Answer(const std::string& station, const alerts::Asked& command,
                                           station::Origin origin, const std::string& who)>;
/// {"command": text, ...}: a command of the control socket (web/request.h) with its parameters. Who
/// may not is refused before it is looked at.
[[nodiscard]] Answer command_answer(const Obey& obey, const Request& request,
                                    const tl::expected<station::Origin, Problem>& admitted);

}  // namespace limegate::page
