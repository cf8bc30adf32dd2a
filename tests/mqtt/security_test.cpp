// Brokers that must not be trusted, or that do not trust us. Certificates are made here by openssl.

#include <chrono>
#include <cstdio>

#include <gmock/gmock.h>
#include <sys/stat.h>

#include "mqtt/rig.h"
#include "support/broker.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Transport = mqtt::Settings::Transport;

/// An authority and certificates of it.
class Authority {
 public:
  Authority() {
    sh("openssl req -x509 -newkey rsa:2048 -nodes -keyout ca.key -out ca.crt -days 30 -subj "
       "/CN=test-authority");
  }
  /// Makes NAME.crt and NAME.key.
  void issue(const std::string& name, const std::string& alternative, const std::string& days) {
    sh("openssl req -newkey rsa:2048 -nodes -keyout " + name + ".key -out " + name +
       ".csr -subj /CN=" + name + " && printf subjectAltName=" + alternative + " > " + name +
       ".ext && openssl x509 -req -in " + name + ".csr -CA ca.crt -CAkey ca.key -CAcreateserial" +
       " -out " + name + ".crt -extfile " + name + ".ext -days " + days);
  }
  [[nodiscard]] std::string file(const std::string& name) const {
    return folder_.path() + "/" + name;
  }
  [[nodiscard]] std::string broker_lines(const std::string& name) const {
    return "allow_anonymous true\ncertfile " + file(name + ".crt") + "\nkeyfile " +
           file(name + ".key") + "\n";
  }

 private:
  void sh(const std::string& line) const {
    const auto ran = run_program({"/bin/sh", "-c", "cd " + folder_.path() + " && " + line});
    ASSERT_EQ(ran.code, 0) << ran.output;
  }
  TempDir folder_;
};

/// Waits until the broker has turned us away two more times: the third attempt from now on has
/// begun.
bool wait_for_two_more_attempts(const Broker& broker) {
  const auto attempts = [&] {
    int count = 0;
    while (contains(broker.log(), "New connection from", count + 1)) {
      ++count;
    }
    return count;
  };
  const int before = attempts();
  return wait_until([&] { return attempts() >= before + 3; });
}

mqtt::Settings tls_settings(const Broker& broker, const std::string& ca) {
  mqtt::Settings settings = Rig::settings(broker.port());
  settings.transport = Transport::tls;
  settings.ca_file = ca;
  return settings;
}

struct Refusal {
  const char* name;
  const char* alternative;
  const char* days;
  const char* said;
};
void PrintTo(const Refusal& row, std::ostream* out) { *out << row.name; }

class CertificateTable : public ::testing::TestWithParam<Refusal> {};

TEST_P(CertificateTable, IsRefusedWithOneClearLine) {
  Authority authority;
  Authority other;
  authority.issue("broker", GetParam().alternative, GetParam().days);
  const bool untrusted = std::string{GetParam().name} == "untrusted";
  Broker broker{authority.broker_lines("broker")};
  broker.start();
  Rig rig{tls_settings(broker, untrusted ? other.file("ca.crt") : authority.file("ca.crt"))};
  ASSERT_TRUE(wait_until([&] { return rig.told("mqtt-refused"); }))
      << ::testing::PrintToString(rig.events());
  EXPECT_TRUE(rig.told(GetParam().said)) << ::testing::PrintToString(rig.events());
  ASSERT_TRUE(wait_for_two_more_attempts(broker)) << broker.log();
  EXPECT_EQ(rig.events().size(), 1U) << ::testing::PrintToString(rig.events());
  std::printf("%s: %s\n", GetParam().name, rig.events().front().c_str());
  EXPECT_TRUE(rig.wait_for_ticks(50)) << "the loop goes on";
}

INSTANTIATE_TEST_SUITE_P(Refusals, CertificateTable,
                         ::testing::Values(Refusal{"wrong_host_name", "DNS:elsewhere.example", "10",
                                                   "refused for localhost: hostname mismatch"},
                                           Refusal{"expired", "DNS:localhost", "-1",
                                                   "certificate has expired"},
                                           Refusal{"untrusted", "DNS:localhost", "10",
                                                   "unable to get local issuer certificate"}),
                         [](const auto& row) { return row.param.name; });

TEST(Tls, AGoodCertificateIsTakenByNameAndByAddress) {
  Authority authority;
  authority.issue("broker", "DNS:localhost,IP:127.0.0.1", "10");
  Broker broker{authority.broker_lines("broker")};
  broker.start();
  for (const char* host : {"localhost", "127.0.0.1"}) {
    mqtt::Settings settings = tls_settings(broker, authority.file("ca.crt"));
    settings.host = host;
    Rig rig{settings};
    EXPECT_TRUE(wait_until([&] { return rig.told("mqtt-connected"); }))
        << host << ::testing::PrintToString(rig.events());
  }
}

TEST(Tls, ABrokerWithoutTlsIsRefused) {
  Broker broker;
  broker.start();
  Rig rig{tls_settings(broker, "")};
  ASSERT_TRUE(wait_until([&] { return !rig.events().empty(); }));
  EXPECT_TRUE(rig.told("no safe connection")) << ::testing::PrintToString(rig.events());
}

class PasswordOfTheBroker : public ::testing::Test {
 protected:
  PasswordOfTheBroker() : broker_{"allow_anonymous false\npassword_file " + passwords() + "\n"} {
    EXPECT_EQ(run_program({"/usr/bin/mosquitto_passwd", "-c", "-b", passwords(), "limegate",
                           "tr1cky-secret"})
                  .code,
              0);
    broker_.start();
  }
  [[nodiscard]] std::string passwords() const { return folder_.path() + "/passwords"; }
  [[nodiscard]] mqtt::Settings settings(const std::string& password) const {
    mqtt::Settings settings = Rig::settings(broker_.port());
    settings.user = "limegate";
    const std::string file = folder_.path() + "/secret";
    write_file(file, password);
    ::chmod(file.c_str(), 0600);
    settings.password = files::SecretFile{file};
    return settings;
  }

  TempDir folder_;
  Broker broker_;
};

TEST_F(PasswordOfTheBroker, IsReadFromAFileWithoutItsNewline) {
  Rig rig{settings("tr1cky-secret\n")};
  EXPECT_TRUE(wait_until([&] { return rig.told("mqtt-connected"); }));
  EXPECT_EQ(rig.events().size(), 1U) << ::testing::PrintToString(rig.events());
}

TEST_F(PasswordOfTheBroker, RefusedIsOneClearLineWithoutThePassword) {
  Rig rig{settings("an0ther-secret\n")};
  ASSERT_TRUE(wait_until([&] { return rig.told("mqtt-refused"); }))
      << ::testing::PrintToString(rig.events()) << broker_.log();
  ASSERT_TRUE(wait_for_two_more_attempts(broker_)) << broker_.log();
  EXPECT_EQ(rig.events().size(), 1U) << ::testing::PrintToString(rig.events());
  EXPECT_TRUE(rig.told("Not authorized") || rig.told("Bad user name or password"))
      << ::testing::PrintToString(rig.events());
  EXPECT_FALSE(rig.told("secret"));
  std::printf("%s\n", rig.events().front().c_str());
}

TEST_F(PasswordOfTheBroker, AFileThatEverybodyReadsIsMentioned) {
  mqtt::Settings open = settings("tr1cky-secret\n");
  ::chmod(std::get<files::SecretFile>(open.password).path.c_str(), 0644);
  Rig rig{open};
  EXPECT_TRUE(wait_until([&] { return rig.told("mqtt-connected"); }));
  EXPECT_TRUE(rig.told("can be read by everybody on this machine"));
}

TEST_F(PasswordOfTheBroker, AMissingFileIsSaid) {
  mqtt::Settings missing = settings("");
  missing.password = files::SecretFile{folder_.path() + "/none"};
  Rig rig{missing};
  EXPECT_TRUE(wait_until([&] { return rig.told("can't be read from"); }));
}

TEST_F(PasswordOfTheBroker, ComesAlsoAsACredentialOfTheServiceManager) {
  mqtt::Settings credential = settings("tr1cky-secret");
  // NOLINTNEXTLINE(concurrency-mt-unsafe): before the daemon's threads begin, or after
  ::setenv("CREDENTIALS_DIRECTORY", folder_.path().c_str(), 1);
  credential.password = files::SecretCredential{"secret"};
  Rig rig{credential};
  EXPECT_TRUE(wait_until([&] { return rig.told("mqtt-connected"); }));
  // NOLINTNEXTLINE(concurrency-mt-unsafe): before the daemon's threads begin, or after
  ::unsetenv("CREDENTIALS_DIRECTORY");
}

/// Something that answers the first packet with these bytes (as Python writes them).
class FakeBroker {
 public:
  explicit FakeBroker(const std::string& answer)
      : port_(free_port()),
        program_({"/usr/bin/python3", "-c",
                  "import socket\n"
                  "s = socket.socket(); s.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)\n"
                  "s.bind(('127.0.0.1', " +
                      std::to_string(port_) +
                      ")); s.listen()\n"
                      "while True:\n"
                      "  c, _ = s.accept(); c.recv(4096); c.sendall(" +
                      answer + "); c.recv(4096)\n"},
                 folder_.path() + "/output") {}
  [[nodiscard]] int port() const { return port_; }

 private:
  TempDir folder_;
  int port_;
  Program program_;
};

TEST(ForeignBrokers, OneThatSpeaksOnlyMqtt3IsNamedAsSuch) {
  const FakeBroker old{"b'\\x20\\x02\\x00\\x01'"};  // MQTT 3.1.1, 3.2.2.3: unacceptable version
  Rig rig{Rig::settings(old.port())};
  EXPECT_TRUE(wait_until([&] { return rig.told("does not speak MQTT 5"); }))
      << ::testing::PrintToString(rig.events());
}

TEST(ForeignBrokers, OneThatSaysSoIsBelievedThatOurIdIsTaken) {
  // CONNACK; then DISCONNECT with 0x8E, session taken over (MQTT 5, 3.14.2.1).
  const FakeBroker taker{"b'\\x20\\x03\\x00\\x00\\x00\\xe0\\x01\\x8e'"};
  Rig rig{Rig::settings(taker.port())};
  EXPECT_TRUE(wait_until([&] { return rig.told("mqtt-id-taken"); }))
      << ::testing::PrintToString(rig.events());
}

}  // namespace
}  // namespace limegate::test
