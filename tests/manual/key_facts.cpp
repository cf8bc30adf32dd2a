// What the loader says of each key, put together from all files that ask for it.

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <iterator>
#include <optional>
#include <vector>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "config/load.h"
#include "config/question.h"
#include "manual/facts.h"
#include "support/places.h"
#include "support/program.h"

namespace limegate::test {
namespace {

using config::AskedKey;
using Kind = AskedKey::Kind;
using Askings = std::vector<AskedKey>;

/// What all of them say alike; absent if they don't.
template <class Value>
std::optional<Value> agreed(const Askings& askings, Value AskedKey::*value) {
  const bool alike = std::all_of(askings.begin(), askings.end(), [&](const AskedKey& asking) {
    return asking.*value == askings.front().*value;
  });
  return alike ? std::optional<Value>{askings.front().*value} : std::nullopt;
}

Askings only(const Askings& askings, Kind kind) {
  Askings found;
  std::copy_if(askings.begin(), askings.end(), std::back_inserter(found),
               [&](const AskedKey& asking) { return asking.kind == kind; });
  return found;
}

std::string why(const Askings& askings) {
  const auto told = std::find_if(askings.begin(), askings.end(),
                                 [](const AskedKey& asking) { return !asking.why.empty(); });
  return told == askings.end() ? "" : " (" + told->why + ")";
}

std::string span(const char* what, const Askings& askings) {
  const auto low = agreed(askings, &AskedKey::low);
  const auto high = agreed(askings, &AskedKey::high);
  return low && high
             ? fmt::format("{} from {:.10g} to {:.10g}{}", what, **low, **high, why(askings))
             : fmt::format("{} whose bounds follow from other keys{}", what, why(askings));
}

std::string words(const Askings& askings) {
  std::vector<std::string> all;
  for (const AskedKey& asking : askings) {
    for (const std::string& word : asking.words) {
      if (std::find(all.begin(), all.end(), word) == all.end()) {
        all.push_back(word);
      }
    }
  }
  return fmt::format("one of \"{}\"", fmt::join(all, "\", \""));
}

std::string shape(Kind kind, const Askings& askings) {
  switch (kind) {
    case Kind::number:
      return span("a number", askings);
    case Kind::whole_number:
      return span("a whole number", askings);
    case Kind::text:
      return "a text";
    case Kind::word:
      return words(askings);
    case Kind::words:
      return "a list of texts that are known here";
    case Kind::flag:
      return "true or false";
    case Kind::range:
      return span("two numbers, [low, high],", askings);
    case Kind::hours:
      return "hours, { from = 22:00:00, to = 06:30:00 }";
    case Kind::time_of_day:
      return "a time of day, 08:00:00";
    case Kind::date:
      return "a date, 2026-11-20";
    case Kind::table:
      return "a table";
    case Kind::tables:
      return "a list of tables";
  }
  return "";
}

std::string shapes(const Askings& askings) {
  std::vector<Kind> kinds;
  std::string all;
  for (const AskedKey& asking : askings) {
    if (std::find(kinds.begin(), kinds.end(), asking.kind) == kinds.end()) {
      kinds.push_back(asking.kind);
      all += (all.empty() ? "" : "; or ") + shape(asking.kind, only(askings, asking.kind));
    }
  }
  all.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(all.front())));
  return all;
}

/// What stands where the file says nothing.
std::string otherwise(const Askings& askings, std::size_t tables) {
  Askings with_default;
  std::copy_if(askings.begin(), askings.end(), std::back_inserter(with_default),
               [](const AskedKey& asking) { return asking.otherwise.has_value(); });
  const auto required = std::count_if(askings.begin(), askings.end(), [](const AskedKey& asking) {
    return asking.need == AskedKey::Need::required;
  });
  if (with_default.empty()) {
    return required == 0              ? "It may be left out."
           : askings.size() == tables ? "It must be given."
                                      : "Where it belongs it must be given.";
  }
  const auto value = agreed(with_default, &AskedKey::otherwise);
  const Kind kind = with_default.front().kind;
  const char* const quote = kind == Kind::text || kind == Kind::word ? "\"" : "";
  return (value ? fmt::format("Default {0}{1}{0}.", quote, **value)
                : std::string{"The default follows from other keys."}) +
         (required == 0 ? "" : " Of some it must be given.");
}

/// The comparisons of `all` and `any` are those of `when`.
std::string unified(const std::string& table) {
  const bool comparison = table == "station.rule.all" || table == "station.rule.any";
  return comparison ? "station.rule.when" : table;
}

bool is_table(const AskedKey& asking) {
  return asking.kind == Kind::table || asking.kind == Kind::tables;
}

}  // namespace

Facts facts_of_keys() {
  std::map<std::string, Askings> by_key;
  std::map<std::string, std::size_t> tables;  // how often each was read
  std::vector<std::string> files{source_dir() + "/tests/manual/every_key.toml"};
  for (const auto& file : std::filesystem::directory_iterator(source_dir() + "/config/examples")) {
    files.push_back(file.path().string());
  }
  for (const std::string& file : files) {
    ++tables[""];
    for (AskedKey& asking : config::keys_asked(read_file(file))) {
      const std::string name =
          (asking.table.empty() ? "" : unified(asking.table) + ".") + asking.key;
      if (is_table(asking)) {
        ++tables[unified(name)];
      }
      by_key[name].push_back(std::move(asking));
    }
  }
  Facts facts;
  for (const auto& [name, askings] : by_key) {
    const std::size_t read = tables[unified(askings.front().table)];
    facts["key " + name] = shapes(askings) + ". " + otherwise(askings, read);
  }
  return facts;
}

Facts facts_of_questions() {
  Facts facts;
  for (const config::QuestionRow& row : config::question_rows()) {
    const bool of_station = std::holds_alternative<config::QuestionRow::OfStation>(row.asks);
    facts[std::string{"question "} + row.id] =
        fmt::format("Asked where {}. Answered in {}.", row.when,
                    of_station ? "the station's table" : "[daemon]");
  }
  return facts;
}

}  // namespace limegate::test
