#include "web/request.h"

#include <cmath>
#include <limits>

#include <gtest/gtest.h>

#include "units/rfc3339.h"

namespace limegate::web {
namespace {

using nlohmann::json;

struct BadRow {
  const char* name;
  const char* line;
  int code;            ///< of JSON-RPC 2.0, section 5.1
  const char* remedy;  ///< a part of the message
};
std::ostream& operator<<(std::ostream& out, const BadRow& row) { return out << row.name; }

const BadRow kBad[] = {
    {"nothing", "", -32700, "not JSON"},
    {"no_json", "pause please", -32700, "not JSON"},
    {"half_an_object", R"({"jsonrpc":"2.0")", -32700, "not JSON"},
    {"illegal_utf8", "{\"jsonrpc\":\"2.0\",\"method\":\"\xff\"}", -32700, "not JSON"},
    {"an_array", R"([1])", -32600, "jsonrpc"},
    {"a_number", "7", -32600, "jsonrpc"},
    {"another_version", R"({"jsonrpc":"1.0","method":"status"})", -32600, "jsonrpc"},
    {"no_method", R"({"jsonrpc":"2.0"})", -32600, "method"},
    {"a_method_that_is_no_text", R"({"jsonrpc":"2.0","method":1})", -32600, "method"},
    {"params_that_are_a_list", R"({"jsonrpc":"2.0","method":"pause","params":[1]})", -32600,
     "params"},
    {"unknown_method", R"({"jsonrpc":"2.0","method":"dose"})", -32601, "dose"},
    {"missing_number", R"({"jsonrpc":"2.0","method":"pause"})", -32602, "minutes is missing"},
    {"a_text_for_a_number", R"({"jsonrpc":"2.0","method":"pause","params":{"minutes":"5"}})",
     -32602, "minutes must be a number"},
    {"a_number_for_a_text", R"({"jsonrpc":"2.0","method":"release","params":{"hold":5}})", -32602,
     "hold must be a text"},
    {"a_reason_of_two_lines",
     R"({"jsonrpc":"2.0","method":"shelve","params":{"alert":"a","minutes":5,"because":"a\nb"}})",
     -32602, "because holds a control character"},
    {"a_station_that_moves_the_cursor",
     R"({"jsonrpc":"2.0","method":"resume","params":{"station":"\u001b[2J"}})", -32602,
     "station holds a control character"},
    {"a_number_for_a_flag", R"({"jsonrpc":"2.0","method":"status","params":{"watch":1}})", -32602,
     "watch must be"},
    {"a_finding_of_nobodys",
     R"({"jsonrpc":"2.0","method":"found","params":{"code":"ph-stuck","sentence":"x","about":""}})",
     -32602, "none of limegate-deliver's"},
    {"a_finding_about_another",
     R"({"jsonrpc":"2.0","method":"found","params":{"code":"delivery-works","sentence":"x","about":"ph-stuck"}})",
     -32602, "none of limegate-deliver's"},
    {"a_time_of_an_entry_that_is_none",
     R"({"jsonrpc":"2.0","method":"record","params":{"what":"cleaned","at":"yesterday"}})", -32602,
     "at must be a time"},
    {"a_value_of_an_entry_that_is_a_number",
     R"({"jsonrpc":"2.0","method":"record","params":{"what":"ph","value":8.2}})", -32602,
     "value must be a text"},
    {"a_kit_that_moves_the_cursor",
     R"({"jsonrpc":"2.0","method":"record","params":{"what":"ph","kit":"\u001b[2J"}})", -32602,
     "kit holds a control character"},
    {"an_undo_of_nothing", R"({"jsonrpc":"2.0","method":"undo"})", -32602, "number is missing"},
    {"something_left_over", R"({"jsonrpc":"2.0","method":"resume","params":{"force":true}})",
     -32602, "force is not known"},
};

class BadRequestTable : public testing::TestWithParam<BadRow> {};
INSTANTIATE_TEST_SUITE_P(Rows, BadRequestTable, testing::ValuesIn(kBad),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST_P(BadRequestTable, is_answered_with_the_code_of_json_rpc_and_the_place) {
  const auto request = parse_request(GetParam().line);
  ASSERT_FALSE(request);
  EXPECT_EQ(request.error()["error"]["code"], GetParam().code);
  EXPECT_NE(request.error()["error"]["message"].get<std::string>().find(GetParam().remedy),
            std::string::npos)
      << request.error().dump(-1, ' ', false, json::error_handler_t::replace);
  EXPECT_EQ(request.error()["jsonrpc"], "2.0");
}

Request parsed(const std::string& method, const json& params = json::object()) {
  const auto request = parse_request(
      json{{"jsonrpc", "2.0"}, {"id", "x-7"}, {"method", method}, {"params", params}}.dump());
  EXPECT_TRUE(request);
  return request ? *request : Request{nullptr, Request::Status{}};
}

template <class T>
T command(const std::string& method, const json& params) {
  const alerts::Asked what = std::get<Request::Command>(parsed(method, params).what).what;
  if constexpr (std::is_constructible_v<alerts::Command, T>) {
    return std::get<T>(std::get<alerts::Command>(what));
  } else {
    return std::get<T>(std::get<station::Command>(what));
  }
}

TEST(Request, keeps_its_id) { EXPECT_EQ(parsed("status").id, "x-7"); }

TEST(Request, of_every_method_becomes_its_command) {
  EXPECT_EQ(command<station::Pause>("pause", {{"minutes", 90}}).lasting, std::chrono::minutes{90});
  (void)command<station::Resume>("resume", json::object());
  EXPECT_EQ(command<alerts::Acknowledge>("acknowledge", {{"alert", "ledger"}}).alert, "ledger");
  EXPECT_EQ(command<alerts::Acknowledge>("acknowledge", json::object()).alert, "");
  const auto shelve = command<alerts::Shelve>(
      "shelve", {{"alert", "ph-stale"}, {"minutes", 120}, {"because", "cleaning"}});
  EXPECT_EQ(shelve.alert, "ph-stale");
  EXPECT_EQ(shelve.lasting, std::chrono::hours{2});
  EXPECT_EQ(shelve.why, "cleaning");
  EXPECT_EQ(command<station::Release>("release", {{"hold", "ph-ceiling"}}).hold, "ph-ceiling");
  EXPECT_EQ(command<station::SetDayVolume>("set-day-volume", {{"ml", 12.5}}).volume.count(), 12.5);
  (void)command<station::StirNow>("stir", json::object());
  EXPECT_EQ(command<station::Service>("work", {{"minutes", 60}}).lasting, std::chrono::hours{1});
  const auto away = command<station::Away>("away", {{"minutes", 2880}, {"ml", 700}});
  EXPECT_EQ(away.lasting, std::chrono::hours{48});
  EXPECT_EQ(away.volume.count(), 700.0);
  (void)command<station::Back>("back", json::object());
  EXPECT_EQ(command<station::RunAttended>("run-attended", {{"ml", 50}}).volume.count(), 50.0);
  (void)command<station::SwitchAllOff>("switch-all-off", json::object());
  const auto write = command<station::WriteEntry>("record", {{"what", "alkalinity"},
                                                             {"value", "8.1"},
                                                             {"unit", "dKH"},
                                                             {"kit", "drops"},
                                                             {"at", "2026-11-25T07:15:00Z"},
                                                             {"sure", true}});
  EXPECT_EQ(write.row.what + write.row.value + write.row.unit + write.row.kit,
            "alkalinity8.1dKHdrops");
  EXPECT_EQ(write.at, parse_rfc3339("2026-11-25T07:15:00Z"));
  EXPECT_EQ(write.said, station::WriteEntry::Said::again);
  EXPECT_FALSE(command<station::WriteEntry>("record", {{"what", "cleaned"}}).at);
  EXPECT_EQ(command<station::UndoEntry>("undo", {{"number", 12}}).number, 12);
  EXPECT_EQ(command<station::UndoEntry>("undo", {{"number", 1e300}}).number, 0);
  EXPECT_EQ(std::get<Request::Book>(parsed("book", {{"after", 7}}).what).after, 7);
  const Request named = parsed("resume", {{"station", "reef"}});
  EXPECT_EQ(std::get<Request::Command>(named.what).station, "reef");
  EXPECT_EQ(std::get<Request::Status>(parsed("status", {{"watch", true}}).what).times,
            Request::Status::Times::each_second);
  EXPECT_EQ(std::get<Request::Status>(parsed("status", {{"station", "reef"}}).what).station,
            "reef");
}

TEST(Request, of_a_pause_beyond_any_clock_is_no_overflow) {
  EXPECT_GT(command<station::Pause>("pause", {{"minutes", 1e300}}).lasting, std::chrono::hours{24});
  EXPECT_LT(command<station::Pause>("pause", {{"minutes", -1e300}}).lasting, Duration::zero());
}

}  // namespace
}  // namespace limegate::web
