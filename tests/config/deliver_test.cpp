// Where messages go, as an owner's file says it.

#include <ostream>
#include <string>
#include <variant>

#include <gtest/gtest.h>

#include "config/load.h"
#include "support/places.h"
#include "support/program.h"

namespace limegate::config {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr const char* kMail = R"([[deliver.mail]]
name = "mail"
server = "smtp.example.org"
user = "tank"
password_credential = "mail-password"
from = "tank@example.org"
to = "keeper@example.org"
)";
constexpr const char* kHook = R"([[deliver.webhook]]
name = "hook"
url = "https://push.example.org/reef"
)";

tl::expected<Config, Problems> load_with(const std::string& deliver) {
  const test::TempDir folder;
  const std::string file = folder.path() + "/limegate.toml";
  test::write_file(file, test::read_file(test::source_dir() + "/config/examples/simulated.toml") +
                             "\n" + deliver);
  return load(file);
}

TEST(Deliver, is_absent_without_the_table) { EXPECT_FALSE(load_with("")->deliver); }

TEST(Deliver, reads_every_way) {
  const auto config = load_with(std::string{kMail} + kHook + R"(token_file = "/secret"
after_min = 30
least_urgent = "act-now"
[[deliver.program]]
name = "siren"
path = "/usr/local/bin/siren"
time_limit_s = 5
[deliver]
heartbeat_url = "http://127.0.0.1:8080/"
heartbeat_every_min = 7
all_is_well_at = 08:30:00
)");
  ASSERT_TRUE(config) << config.error()[0].to_string("file");
  const alerts::Delivery& deliver = *config->deliver;
  ASSERT_EQ(deliver.destinations.size(), 3U);
  const auto& mail = std::get<alerts::Mail>(deliver.destinations[0].way);
  EXPECT_EQ(mail.port, 587);
  EXPECT_EQ(mail.security, alerts::Mail::Security::starttls);
  EXPECT_EQ(std::get<files::SecretCredential>(mail.password).name, "mail-password");
  EXPECT_EQ(deliver.destinations[0].after, 0s);
  EXPECT_EQ(deliver.destinations[1].after, 30min);
  EXPECT_EQ(deliver.destinations[1].least, alerts::Urgency::act_now);
  EXPECT_EQ(std::get<alerts::Program>(deliver.destinations[2].way).time_limit, 5s);
  EXPECT_EQ(deliver.heartbeat_every, 7min);
  EXPECT_EQ(deliver.all_is_well_at, 8h + 30min);
}

TEST(Deliver, a_heartbeat_needs_no_destination) {
  const auto config = load_with("[deliver]\nheartbeat_url = \"https://beat.example.org/\"\n");
  ASSERT_TRUE(config);
  EXPECT_TRUE(config->deliver->destinations.empty());
  EXPECT_TRUE(config->warnings.empty());
}

TEST(Deliver, tls_has_a_port_of_its_own) {
  const auto config = load_with(std::string{kMail} + "security = \"tls\"\n");
  EXPECT_EQ(std::get<alerts::Mail>(config->deliver->destinations[0].way).port, 465);
}

struct BadRow {
  const char* name;
  std::string text;
  const char* key;
  const char* says;
};
void PrintTo(const BadRow& row, std::ostream* out) { *out << row.name; }

std::string mail_with(const std::string& from, const std::string& to) {
  std::string text = kMail;
  return text.replace(text.find(from), from.size(), to);
}

const BadRow kBad[] = {
    {"no_destination", "[deliver]\nheartbeat_every_min = 5\n", "deliver.mail", "no destination"},
    {"unknown_urgency", std::string{kMail} + "least_urgent = \"soon\"\n", "mail[1].least_urgent",
     "act-now"},
    {"address_without_a_host", mail_with("keeper@example.org", "keeper"), "mail[1].to",
     "with a host"},
    {"address_of_two_lines", mail_with("keeper@example.org", "a@b\\r\\nBcc: c@d"), "mail[1].to",
     "must be one line"},
    {"server_with_a_port", mail_with("smtp.example.org", "smtp.example.org:25"), "mail[1].server",
     "port has a key"},
    {"port_of_zero", std::string{kMail} + "port = 0\n", "mail[1].port", "65535"},
    {"no_clear_text", std::string{kMail} + "security = \"none\"\n", "mail[1].security", "starttls"},
    {"password_without_a_user", mail_with("user = \"tank\"\n", ""), "mail[1].user", "go together"},
    {"two_passwords", std::string{kMail} + "password_file = \"/x\"\n",
     "mail[1].password_credential", "choose one"},
    {"credential_as_a_path", mail_with("\"mail-password\"", "\"/etc/x\""),
     "mail[1].password_credential", "not a path"},
    {"the_same_name_twice", std::string{kMail} + kMail, "mail[2].name", "already"},
    {"name_with_blanks", mail_with("name = \"mail\"", "name = \"My mail\""), "mail[1].name", "a-z"},
    {"url_of_another_kind", "[[deliver.webhook]]\nname = \"h\"\nurl = \"ftp://x/\"\n",
     "webhook[1].url", "https://"},
    {"url_without_a_host", "[[deliver.webhook]]\nname = \"h\"\nurl = \"https:///x\"\n",
     "webhook[1].url", "https://"},
    {"program_by_its_name_alone", "[[deliver.program]]\nname = \"p\"\npath = \"siren\"\n",
     "program[1].path", "whole path"},
    {"program_without_an_end",
     "[[deliver.program]]\nname = \"p\"\npath = \"/x\"\ntime_limit_s = 0\n",
     "program[1].time_limit_s", "600"},
    {"a_delay_of_two_days", std::string{kMail} + "after_min = 2880\n", "mail[1].after_min", "1440"},
    {"an_hour_in_quotes", std::string{kMail} + "[deliver]\nall_is_well_at = \"8\"\n",
     "deliver.all_is_well_at", "without quotes"},
    {"a_key_that_is_not_known", std::string{kMail} + "servr = \"x\"\n", "mail[1].servr", "server"},
};

class BadDeliver : public testing::TestWithParam<BadRow> {};
INSTANTIATE_TEST_SUITE_P(Rows, BadDeliver, testing::ValuesIn(kBad),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST_P(BadDeliver, is_refused_with_its_place_and_a_remedy) {
  const auto config = load_with(GetParam().text);
  ASSERT_FALSE(config);
  std::string all;
  bool found = false;
  for (const Problem& problem : config.error()) {
    all += problem.to_string("file") + "\n";
    found = found || (problem.key == GetParam().key &&
                      problem.what.find(GetParam().says) != std::string::npos);
  }
  EXPECT_TRUE(found) << all;
}

TEST(Deliver, warns_of_a_token_in_clear_text_and_of_nobody_at_once) {
  const auto config = load_with(
      "[[deliver.webhook]]\nname = \"h\"\nurl = \"http://push.example.org/\"\n"
      "token_file = \"/x\"\nafter_min = 5\n");
  ASSERT_TRUE(config);
  std::string all;
  for (const std::string& warning : config->warnings) {
    all += warning + "\n";
  }
  EXPECT_NE(all.find("clear text"), std::string::npos) << all;
  EXPECT_NE(all.find("at once"), std::string::npos) << all;
}

}  // namespace
}  // namespace limegate::config
