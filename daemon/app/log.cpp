#include "app/log.h"

#include <cstdlib>
#include <memory>
#include <utility>

#include <fmt/format.h>
#include <spdlog/pattern_formatter.h>
#include <spdlog/sinks/stdout_sinks.h>
#include <spdlog/spdlog.h>
#include <sys/stat.h>
#include <unistd.h>

namespace limegate::app {
namespace {

/// journald reads "<N>" at the start of a line as the priority of RFC 5424.
class JournaldPriority : public spdlog::custom_flag_formatter {
 public:
  void format(const spdlog::details::log_msg& message, const std::tm& /*time*/,
              spdlog::memory_buf_t& out) override {
    const char* prefix = "<6>";
    if (message.level >= spdlog::level::err) {
      prefix = "<3>";
    } else if (message.level == spdlog::level::warn) {
      prefix = "<4>";
    } else if (message.level <= spdlog::level::debug) {
      prefix = "<7>";
    }
    out.append(prefix, prefix + 3);
  }
  [[nodiscard]] std::unique_ptr<custom_flag_formatter> clone() const override {
    return std::make_unique<JournaldPriority>();
  }
};

/// One event, one line: what came from outside must not begin a line of its own.
std::string one_line(std::string text) {
  for (char& c : text) {
    if (static_cast<unsigned char>(c) < 0x20) {
      c = ' ';
    }
  }
  return text;
}

/// Whether standard error goes to journald itself: JOURNAL_STREAM is inherited, also by a shell
/// whose own output goes elsewhere, so the manual (systemd.exec) asks for the comparison.
bool journald_listens() {
  const char* stream = std::getenv("JOURNAL_STREAM");  // NOLINT(concurrency-mt-unsafe): at start
  struct stat standard_error {};
  return stream != nullptr && ::fstat(STDERR_FILENO, &standard_error) == 0 &&
         stream == fmt::format("{}:{}", standard_error.st_dev, standard_error.st_ino);
}

}  // namespace

void start_log() {
  auto logger = std::make_shared<spdlog::logger>("limegate",
                                                 std::make_shared<spdlog::sinks::stderr_sink_mt>());
  if (journald_listens()) {
    auto formatter = std::make_unique<spdlog::pattern_formatter>();
    formatter->add_flag<JournaldPriority>('*').set_pattern("%*%v");
    logger->set_formatter(std::move(formatter));
  } else {
    logger->set_pattern("%Y-%m-%d %H:%M:%S %z %l: %v");
  }
  spdlog::set_default_logger(std::move(logger));
}

std::string as_errors(const std::string& lines) {
  if (!journald_listens()) {
    return lines;
  }
  std::string prefixed;
  bool begins = true;
  for (const char c : lines) {
    prefixed += begins ? "<3>" : "";
    prefixed += c;
    begins = c == '\n';
  }
  return prefixed;
}

void log_error(const std::string& line) { spdlog::error("{}", one_line(line)); }
void log_warning(const std::string& line) { spdlog::warn("{}", one_line(line)); }
void log_info(const std::string& line) { spdlog::info("{}", one_line(line)); }

void log_event(const Happened& happened) {
  const std::string line = (happened.station.empty() ? "" : "station=" + happened.station + " ") +
                           "event=" + happened.event.code + " " + happened.event.sentence;
  switch (happened.event.severity) {
    case station::Severity::info:
      log_info(line);
      return;
    case station::Severity::warning:
      log_warning(line);
      return;
    case station::Severity::alert:
      log_error(line);
      return;
  }
}

}  // namespace limegate::app
