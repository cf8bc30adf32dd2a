#pragma once

#include <string>

#include "app/event_stream.h"

namespace limegate::app {

/// Sets up the log on standard error: with journald's priority prefixes where journald listens,
/// with times elsewhere.
void start_log();

/// A text of whole lines for standard error, each line an error where journald listens.
[[nodiscard]] std::string as_errors(const std::string& lines);

/// error = a person must act; warning = degraded but safe; info = start, stop, changes.
void log_error(const std::string& line);
void log_warning(const std::string& line);
void log_info(const std::string& line);
void log_event(const Happened& happened);

}  // namespace limegate::app
