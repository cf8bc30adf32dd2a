#include "report/markup.h"

#include <cstddef>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace limegate::report {
namespace {

using nlohmann::json;

constexpr std::string_view kReplaced = "\xEF\xBF\xBD";  // U+FFFD

/// The library's own notion of UTF-8: what is none is replaced.
std::string utf8(std::string_view words) {
  return json::parse(json(words).dump(-1, ' ', false, json::error_handler_t::replace))
      .get<std::string>();
}

std::string row(const std::vector<Markup>& cells, bool with_head) {
  std::string out = "<tr>";
  for (std::size_t i = 0; i < cells.size(); ++i) {
    out += with_head && i == 0 ? fmt::format("<th scope=\"row\">{}</th>", cells[i].xml)
                               : fmt::format("<td>{}</td>", cells[i].xml);
  }
  return fmt::format("{}</tr>\n", out);
}

}  // namespace

Markup text(std::string_view words) {
  Markup out;
  const std::string sound = utf8(words);
  for (std::size_t i = 0; i < sound.size(); ++i) {
    const char c = sound[i];
    const std::string_view three = std::string_view{sound}.substr(i, 3);
    if (three == "\xEF\xBF\xBE" || three == "\xEF\xBF\xBF") {  // U+FFFE and U+FFFF
      out.xml += kReplaced;
      i += 2;
    } else if (static_cast<unsigned char>(c) < 0x20 && c != '\t' && c != '\n') {
      out.xml += kReplaced;
    } else if (c == '&') {
      out.xml += "&amp;";
    } else if (c == '<') {
      out.xml += "&lt;";
    } else if (c == '>') {
      out.xml += "&gt;";
    } else if (c == '"') {
      out.xml += "&quot;";
    } else {
      out.xml += c;
    }
  }
  return out;
}

Markup paragraph(std::string_view words) { return {fmt::format("<p>{}</p>\n", text(words).xml)}; }

Markup list(const std::vector<std::string>& sentences) {
  std::string out = "<ul>";
  for (const std::string& sentence : sentences) {
    out += fmt::format("<li>{}</li>", text(sentence).xml);
  }
  return {fmt::format("{}</ul>\n", out)};
}

Markup table(const Table& content) {
  if (content.rows.empty()) {
    return paragraph(content.none);
  }
  std::string out = "<div class=\"wide\"><table>\n";
  if (!content.head.empty()) {
    out += "<thead><tr>";
    for (const std::string& name : content.head) {
      out += fmt::format("<th scope=\"col\">{}</th>", text(name).xml);
    }
    out += "</tr></thead>\n";
  }
  out += "<tbody>\n";
  for (const auto& cells : content.rows) {
    out += row(cells, content.head.empty());
  }
  return {fmt::format("{}</tbody></table></div>\n", out)};
}

}  // namespace limegate::report
