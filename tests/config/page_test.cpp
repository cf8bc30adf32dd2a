// [page]: where the page is served.

#include <string>

#include <gmock/gmock.h>

#include "config/good_file.h"
#include "config/load.h"

namespace limegate::config {
namespace {

tl::expected<Config, Problems> load_with(const std::string& page) {
  return parse(std::string{kGood} + page);
}

TEST(Page, is_absent_without_the_table) {
  const auto config = load_with("");
  ASSERT_TRUE(config);
  EXPECT_FALSE(config->page);
}

TEST(Page, is_on_loopback_where_nothing_else_is_said) {
  const auto config = load_with("[page]\n");
  ASSERT_TRUE(config);
  ASSERT_TRUE(config->page);
  EXPECT_EQ(config->page->address, "127.0.0.1");
  EXPECT_EQ(config->page->port, 8377);
  EXPECT_EQ(config->page->host, "");
  EXPECT_EQ(config->page->https_origin, "");
  EXPECT_TRUE(std::holds_alternative<std::monostate>(config->page->token))
      << "nothing can be changed";
}

TEST(Page, is_read_as_written) {
  const auto config =
      load_with("[page]\nlisten = \"[::]:80\"\nreaders = \"the-house\"\nhost = \"reef.lan\"\n");
  ASSERT_TRUE(config) << config.error().front().what;
  EXPECT_EQ(config->page->address, "::");
  EXPECT_EQ(config->page->port, 80);
  EXPECT_EQ(config->page->host, "reef.lan");
}

TEST(Page, may_be_a_unix_socket_for_a_proxy) {
  const auto config = load_with("[page]\nlisten = \"/run/limegate/page\"\n");
  ASSERT_TRUE(config) << config.error().front().what;
  EXPECT_EQ(config->page->socket, "/run/limegate/page");
  const auto longest = load_with("[page]\nlisten = \"/" + std::string(106, 'a') + "\"\n");
  EXPECT_TRUE(longest);
}

struct Row {
  const char* name;
  const char* text;
  const char* key;
  const char* says;
};
class Refused : public testing::TestWithParam<Row> {};

TEST_P(Refused, names_the_place_and_the_remedy) {
  const auto config = load_with(std::string{"[page]\n"} + GetParam().text);
  ASSERT_FALSE(config);
  ASSERT_EQ(config.error().size(), 1U);
  EXPECT_EQ(config.error().front().key, GetParam().key);
  EXPECT_THAT(config.error().front().what, testing::HasSubstr(GetParam().says));
}

constexpr const char* kListenForm = "must be an address of this machine and a port";
INSTANTIATE_TEST_SUITE_P(
    Page, Refused,
    testing::Values(
        Row{"a_name", "listen = \"localhost:8377\"\n", "page.listen", kListenForm},
        Row{"no_port", "listen = \"127.0.0.1\"\n", "page.listen", kListenForm},
        Row{"port_0", "listen = \"127.0.0.1:0\"\n", "page.listen", kListenForm},
        Row{"port_65536", "listen = \"127.0.0.1:65536\"\n", "page.listen", kListenForm},
        Row{"signed_port", "listen = \"127.0.0.1:+80\"\n", "page.listen", kListenForm},
        Row{"bare_ipv6", "listen = \"::1:8377\"\n", "page.listen", kListenForm},
        Row{"half_an_address", "listen = \"127.0.1:8377\"\n", "page.listen", kListenForm},
        Row{"a_folder", "listen = \"/run/limegate/\"\n", "page.listen", kListenForm},
        Row{"a_path_from_somewhere", "listen = \"run/limegate/page\"\n", "page.listen",
            kListenForm},
        Row{"a_path_too_long",
            "listen = \"/aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"
            "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa\"\n",
            "page.listen", "107 characters"},
        Row{"nothing", "listen = \"\"\n", "page.listen", "empty"},
        Row{"the_house_unasked", "listen = \"192.168.1.20:8377\"\n", "page.readers",
            "must be \"the-house\" where the page listens beyond loopback"},
        Row{"all_interfaces_without_a_name", "listen = \"0.0.0.0:8377\"\nreaders = \"the-house\"\n",
            "page.host", "is missing"},
        Row{"a_path_in_a_host", "host = \"reef.lan/page\"\n", "page.host",
            "is a name as a browser"},
        Row{"an_origin_without_tls", "https_origin = \"http://reef.lan\"\n", "page.https_origin",
            "before the path"},
        Row{"an_origin_with_a_path", "https_origin = \"https://reef.lan/\"\n", "page.https_origin",
            "before the path"},
        Row{"an_origin_of_nothing", "https_origin = \"https://\"\n", "page.https_origin",
            "before the path"},
        Row{"two_tokens", "token_file = \"/a\"\ntoken_credential = \"b\"\n",
            "page.token_credential", "can't stand beside token_file: choose one"},
        Row{"a_credential_with_a_path", "token_credential = \"a/b\"\n", "page.token_credential",
            "is a credential's name, not a path"},
        Row{"a_token_in_the_file", "token = \"secret\"\n", "page.token", "token_"},
        Row{"capitals_in_a_host", "host = \"Reef.lan\"\n", "page.host", "small letters"},
        Row{"an_unknown_key", "hosts = \"reef.lan\"\n", "page.hosts", "did you mean 'host'?"}),
    [](const auto& row) { return row.param.name; });

}  // namespace
}  // namespace limegate::config
