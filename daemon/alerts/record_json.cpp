#include "alerts/record_json.h"

#include <chrono>

#include <nlohmann/json.hpp>

namespace limegate::alerts {
namespace {

using nlohmann::json;
using std::chrono::milliseconds;

std::int64_t ms(Duration duration) {
  return std::chrono::duration_cast<milliseconds>(duration).count();
}

json json_of(const dosing::Stamp& stamp) {
  return {
      {"lifetime_ms", ms(stamp.lifetime)},
      {"wall_ms", std::chrono::duration_cast<milliseconds>(stamp.wall.time_since_epoch()).count()}};
}
json json_of(const std::optional<dosing::Stamp>& stamp) {
  return stamp ? json_of(*stamp) : json(nullptr);
}

dosing::Stamp stamp_of(const json& text) {
  return {milliseconds{text.at("lifetime_ms").get<std::int64_t>()},
          WallTime{milliseconds{text.at("wall_ms").get<std::int64_t>()}}};
}
std::optional<dosing::Stamp> maybe_stamp_of(const json& text) {
  return text.is_null() ? std::nullopt : std::optional{stamp_of(text)};
}

constexpr const char* kStation = "station";
constexpr const char* kAfar = "afar";

}  // namespace

std::string json_of(const Record& record) {
  json text{{"station", record.station},
            {"id", record.id},
            {"number", record.number},
            {"sentence", record.sentence},
            {"raised", json_of(record.raised)},
            {"over", json_of(record.over)},
            {"lasting", record.lasting},
            {"latched", record.latched},
            {"came", record.came},
            {"told", record.told},
            {"told_at", json_of(record.told_at)},
            {"changed", record.changed},
            {"return_told", record.return_told},
            {"owed", record.owed},
            {"seen", nullptr},
            {"shelf", nullptr}};
  if (record.seen) {
    text["seen"] = {{"origin", record.seen->origin == station::Origin::station ? kStation : kAfar},
                    {"who", record.seen->who},
                    {"at", json_of(record.seen->at)}};
  }
  if (record.shelf) {
    text["shelf"] = {{"at", json_of(record.shelf->at)},
                     {"lasting_ms", ms(record.shelf->lasting)},
                     {"who", record.shelf->who},
                     {"why", record.shelf->why}};
  }
  // A sentence may carry text from elsewhere: never throw over it.
  return text.dump(-1, ' ', false, json::error_handler_t::replace);
}

std::optional<Record> record_of(std::string_view text) {
  // Only our own rows come here, with a sum that fits; yet a later version may write other fields.
  try {
    const json read = json::parse(text);
    Record record;
    record.station = read.at("station");
    record.id = read.at("id");
    record.number = read.at("number");
    record.sentence = read.at("sentence");
    record.raised = stamp_of(read.at("raised"));
    record.over = maybe_stamp_of(read.at("over"));
    record.lasting = read.at("lasting");
    record.latched = read.at("latched");
    record.came = read.at("came");
    record.told = read.at("told");
    record.told_at = maybe_stamp_of(read.at("told_at"));
    record.changed = read.at("changed");
    record.return_told = read.at("return_told");
    record.owed = read.value("owed", false);  // rows of before had none
    if (const json& seen = read.at("seen"); !seen.is_null()) {
      record.seen = Record::Seen{
          seen.at("origin") == kStation ? station::Origin::station : station::Origin::afar,
          seen.at("who"), stamp_of(seen.at("at"))};
    }
    if (const json& shelf = read.at("shelf"); !shelf.is_null()) {
      record.shelf = Record::Shelf{stamp_of(shelf.at("at")),
                                   milliseconds{shelf.at("lasting_ms").get<std::int64_t>()},
                                   shelf.at("who"), shelf.at("why")};
    }
    return record;
  } catch (const json::exception&) {
    return std::nullopt;
  }
}

}  // namespace limegate::alerts
