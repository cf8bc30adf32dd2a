#pragma once

#include <string>
#include <string_view>

#include <boost/beast/http/message.hpp>
#include <boost/beast/http/string_body.hpp>
#include <nlohmann/json_fwd.hpp>

#include "journal/course.h"
#include "journal/happenings.h"
#include "page/request_check.h"
#include "station/status.h"

namespace limegate::page {

using Answer = boost::beast::http::response<boost::beast::http::string_body>;

/// An answer with what every answer says to a browser: nothing but our own files, no frame around
/// us, nothing guessed, nothing kept.
[[nodiscard]] Answer answer_of(unsigned status, std::string_view type, std::string body);
/// Why not, as RFC 9457 has it.
[[nodiscard]] Answer answer_of(const Problem& problem);
/// Too much at once: to be asked again after so many seconds.
[[nodiscard]] Answer come_back(std::string why, std::string_view seconds);
/// What is built in: asked for each time, and sent only if it is another.
[[nodiscard]] Answer answer_of(const Route& route, const RequestHead& head);
/// The head of a stream of server-sent events, in bytes.
[[nodiscard]] std::string stream_head(std::string_view type);

/// As text, whatever bytes it has.
[[nodiscard]] std::string dump(const nlohmann::json& json);
[[nodiscard]] std::string json_of(const station::Overview& overview);
/// What was not written down is null.
[[nodiscard]] std::string json_of(const journal::Course& course);
/// The same as RFC 4180 has it; what was not written down is empty.
[[nodiscard]] std::string csv_of(const journal::Course& course);
[[nodiscard]] std::string json_of(const journal::Happenings& happenings);

}  // namespace limegate::page
