#include "app/help_command.h"

#include <algorithm>
#include <cstddef>
#include <cstdio>
#include <memory>
#include <sstream>
#include <vector>

#include <fmt/format.h>

#include "app/exit_code.h"
#include "app/manual_pages.h"

namespace limegate::app {
namespace {

using Lines = std::vector<std::string>;

std::string text_of(const ManualPage& page) {
  std::string text;
  for (const std::string_view piece : page.text) {
    text += piece;
  }
  return text;
}

Lines lines_of(const ManualPage& page) {
  Lines lines;
  std::istringstream text{text_of(page)};
  for (std::string line; std::getline(text, line);) {
    lines.push_back(line);
  }
  return lines;
}

std::size_t indent_of(const std::string& line) {
  return std::min(line.find_first_not_of(' '), line.size());
}

/// "limegate.toml - the file": the line below the heading NAME.
std::string name_of(const Lines& lines) {
  const auto name = std::find(lines.begin(), lines.end(), "NAME");
  return lines.end() - name > 1 ? name[1].substr(indent_of(name[1])) : "";
}

std::string pages() {
  std::string list = "limegate help TOPIC shows a page of the manual:\n";
  for (const ManualPage& page : manual_pages()) {
    list += fmt::format("  {:<10} {}\n", page.topic, name_of(lines_of(page)));
  }
  return list +
         "or what it says of a command, a key of the file, the code of a hold or an alert:\n"
         "  limegate help pause\n"
         "  limegate help ph_ceiling\n"
         "  limegate help ph-stuck\n";
}

/// Where the part ends that begins with this line: before the next line that is not set further in.
std::size_t end_of_part(const Lines& lines, std::size_t first) {
  std::size_t end = first + 1;
  for (std::size_t i = end; i < lines.size(); ++i) {
    if (lines[i].empty()) {
      continue;
    }
    if (indent_of(lines[i]) <= indent_of(lines[first])) {
      break;
    }
    end = i + 1;
  }
  return end;
}

/// Of the headings above a line the nearest: it is set less far in.
const std::string& heading_of(const Lines& lines, std::size_t line) {
  std::size_t above = line;
  while (above > 0 && (lines[above].empty() || indent_of(lines[above]) >= indent_of(lines[line]))) {
    --above;
  }
  return lines[above];
}

/// An entry is a line of its own with something set further in below it.
std::string entries_of(const ManualPage& page, std::string_view topic) {
  const Lines lines = lines_of(page);
  std::string found;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const std::size_t end = end_of_part(lines, i);
    if (end == i + 1 || lines[i].substr(indent_of(lines[i])) != topic) {
      continue;
    }
    const std::string& heading = heading_of(lines, i);
    found += fmt::format("{}, {}\n", page.file, heading.substr(indent_of(heading)));
    for (std::size_t line = i; line < end; ++line) {
      found += lines[line] + "\n";
    }
    found += "\n";
  }
  return found;
}

int help(const std::string& topic) {
  const std::string text = help_on(topic);
  if (text.empty()) {
    std::fputs(("The manual has no entry '" + topic + "'.\n" + pages()).c_str(), stderr);
    return kBadInput;
  }
  std::fputs(text.c_str(), stdout);
  return kFine;
}

}  // namespace

std::string help_on(std::string_view topic) {
  if (topic.empty()) {
    return pages();
  }
  std::string found;
  for (const ManualPage& page : manual_pages()) {
    if (page.topic == topic || page.file == topic) {
      return text_of(page);
    }
    found += entries_of(page, topic);
  }
  return found;
}

void add_help_command(CLI::App& app, int& code) {
  const auto topic = std::make_shared<std::string>();
  CLI::App* command = app.add_subcommand(
      "help",
      "The manual: a page of it, or what it says of a command, a key of the file, a hold or an "
      "alert; without a topic, the pages");
  command->add_option("TOPIC", *topic, "Such as config, pause, ph_ceiling or ph-stuck");
  command->callback([=, &code] { code = help(*topic); });
}

}  // namespace limegate::app
