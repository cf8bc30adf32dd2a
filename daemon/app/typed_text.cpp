#include "app/typed_text.h"

#include <nlohmann/json.hpp>

#include "units/shown_text.h"

namespace limegate::app {
namespace {

/// By the library that will have to write it.
bool is_utf8(std::string_view typed) {
  using Handler = nlohmann::json::error_handler_t;
  const nlohmann::json text(typed);
  return text.dump(-1, ' ', false, Handler::ignore) == text.dump(-1, ' ', false, Handler::replace);
}

}  // namespace

const char* objection_to_text(std::string_view typed) {
  return !is_utf8(typed)          ? "is not valid UTF-8"
         : !shows_as_it_is(typed) ? "holds a control character"
                                  : nullptr;
}

}  // namespace limegate::app
