#include "app/terminal.h"

#include <algorithm>

#include <fmt/format.h>
#include <sys/ioctl.h>
#include <unistd.h>

namespace limegate::app {
namespace {

/// Without the bytes that go on with a code point (RFC 3629).
std::size_t columns_of(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char byte) {
    return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U;
  }));
}

std::string wrapped_line(std::string_view line, std::size_t columns) {
  const std::size_t begins = std::min(line.find_first_not_of(' '), line.size());
  const std::string indent(begins + 2, ' ');
  std::string out{line.substr(0, begins)};
  std::size_t used = begins;
  bool first = true;  // of its line
  for (std::size_t at = begins; at < line.size();) {
    const std::size_t gap = std::min(line.find_first_not_of(' ', at), line.size());
    const std::size_t end = std::min(line.find(' ', gap), line.size());
    const std::string_view word = line.substr(gap, end - gap);
    if (!first && used + (gap - at) + columns_of(word) > columns) {
      out += '\n' + indent;
      used = indent.size();
    } else {
      out.append(gap - at, ' ');
      used += gap - at;
    }
    out += word;
    used += columns_of(word);
    first = false;
    at = end;
  }
  return out;
}

}  // namespace

std::optional<TerminalSize> terminal_size() {
  if (::isatty(STDOUT_FILENO) != 1) {
    return std::nullopt;
  }
  TerminalSize size;
  winsize window{};
  if (::ioctl(STDOUT_FILENO, TIOCGWINSZ, &window) == 0 && window.ws_col > 0 && window.ws_row > 0) {
    size = {window.ws_col, window.ws_row};
  }
  return size;
}

std::string wrapped(std::string_view text, std::size_t columns) {
  std::string out;
  while (!text.empty()) {
    const std::size_t end = text.find('\n');
    out += wrapped_line(text.substr(0, end), columns);
    if (end == std::string_view::npos) {
      break;
    }
    out += '\n';
    text.remove_prefix(end + 1);
  }
  return out;
}

std::string fitted(std::string_view text, TerminalSize size) {
  std::string out = wrapped(text, size.columns);
  const auto lines = static_cast<std::size_t>(std::count(out.begin(), out.end(), '\n'));
  if (lines <= size.rows) {
    return out;
  }
  const std::size_t shown = std::max<std::size_t>(size.rows, 1) - 1;
  std::size_t end = 0;
  for (std::size_t line = 0; line < shown; ++line) {
    end = out.find('\n', end) + 1;
  }
  return out.substr(0, end) + fmt::format("... and {} lines more.\n", lines - shown);
}

}  // namespace limegate::app
