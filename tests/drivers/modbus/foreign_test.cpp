// The driver against a slave, and our slave against a master, that others wrote.
// Needs the Debian packages python3-pymodbus (3.0.0), python3-serial-asyncio, mbpoll (1.4.11),
// socat.
#include <array>
#include <chrono>
#include <cstdio>
#include <filesystem>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include "drivers/modbus/rig.h"
#include "support/places.h"
#include "support/wait_until.h"

namespace limegate::test {
namespace {

using ports::OutletState;
using std::chrono::milliseconds;
using std::chrono::seconds;

/// A program that runs while this lives.
class Program {
 public:
  explicit Program(std::vector<std::string> words) {
    std::vector<char*> arguments;
    arguments.reserve(words.size() + 1);
    for (std::string& word : words) {
      arguments.push_back(word.data());
    }
    arguments.push_back(nullptr);
    if (::posix_spawnp(&pid_, arguments[0], nullptr, nullptr, arguments.data(), environ) != 0) {
      throw std::runtime_error("can't start " + words[0]);
    }
  }
  ~Program() {
    ::kill(pid_, SIGTERM);
    ::waitpid(pid_, nullptr, 0);
  }
  Program(const Program&) = delete;
  Program(Program&&) = delete;
  Program& operator=(const Program&) = delete;
  Program& operator=(Program&&) = delete;

 private:
  pid_t pid_ = 0;
};

std::string output_of(const std::string& command) {
  std::string text;
  FILE* pipe = ::popen((command + " 2>&1").c_str(), "r");
  if (pipe == nullptr) {
    return "can't run " + command;
  }
  std::array<char, 512> part{};
  while (std::fgets(part.data(), part.size(), pipe) != nullptr) {
    text += part.data();
  }
  ::pclose(pipe);
  return text;
}

/// A folder that goes away with its content.
class Folder {
 public:
  Folder() {
    std::string name = "/tmp/limegate_foreign_XXXXXX";
    if (::mkdtemp(name.data()) == nullptr) {
      throw std::runtime_error("mkdtemp");
    }
    path_ = name;
  }
  ~Folder() { std::filesystem::remove_all(path_); }
  Folder(const Folder&) = delete;
  Folder(Folder&&) = delete;
  Folder& operator=(const Folder&) = delete;
  Folder& operator=(Folder&&) = delete;
  [[nodiscard]] std::string file(const std::string& name) const { return path_ + "/" + name; }
  [[nodiscard]] bool wait_for(const std::string& name) const {
    return wait_until([&] { return std::filesystem::exists(file(name)); });
  }

 private:
  std::string path_;
};

/// A bus of our own on somebody else's slave, as foreign_slave.py sets it up.
class ForeignSlave : public testing::Test {
 protected:
  void check() {
    std::vector<modbus::ProbeSettings> probes(6);
    probes[0].address = 0;  // 812, then the float 8.25 in registers 1 and 2
    probes[0].scale = 0.01;
    probes[1].address = 1;
    probes[1].encoding = modbus::Encoding::float32;
    probes[2].table = modbus::Table::input_register;
    probes[2].address = 5;
    probes[2].encoding = modbus::Encoding::int16;
    probes[3].table = modbus::Table::coil;
    probes[3].address = 0;
    probes[4].table = modbus::Table::discrete_input;
    probes[4].address = 2;
    probes[5].address = 5000;  // does not exist
    Rig rig{Slave::Transport::tcp};
    rig.bus = std::make_unique<modbus::Bus>(settings, probes, rig.clock, rig.loop.post());

    auto samples = rig.poll({0, 1, 2, 3, 4, 5});
    ASSERT_TRUE(wait_until([&] {  // it needs a while to start
      samples = samples[0].value ? samples : rig.poll({0, 1, 2, 3, 4, 5});
      return samples[0].value.has_value();
    }));
    EXPECT_EQ(samples[0].value, 812 * 0.01);
    EXPECT_EQ(samples[1].value, 8.25);
    EXPECT_EQ(samples[2].value, -250.0);
    EXPECT_EQ(samples[3].value, 0.0);
    EXPECT_EQ(samples[4].value, 1.0);
    EXPECT_EQ(samples[5].value, tl::unexpected{ports::BusFault::refused_by_device});

    modbus::OutletSettings by_coil;
    modbus::OutletSettings by_register;
    by_register.control.table = modbus::Table::holding_register;
    by_register.control.address = 20;
    for (const auto& outlet_settings : {by_coil, by_register}) {
      const auto outlet = rig.bus->outlet(outlet_settings);
      EXPECT_EQ(rig.run_for(*outlet, seconds{60}), OutletState::on);
      EXPECT_EQ(rig.read_back(*outlet), OutletState::on);
      EXPECT_EQ(rig.off(*outlet), OutletState::off);
    }
  }
  [[nodiscard]] static std::vector<std::string> slave(std::vector<std::string> arguments) {
    std::vector<std::string> words{"/usr/bin/python3",
                                   source_dir() + "/tests/drivers/modbus/foreign_slave.py"};
    words.insert(words.end(), arguments.begin(), arguments.end());
    return words;
  }
  modbus::BusSettings settings{"foreign", {}, seconds{1}, milliseconds{50}, milliseconds{100}};
  Folder folder;
};

TEST_F(ForeignSlave, is_understood_over_tcp) {
  const Program program{slave({"tcp", folder.file("port")})};
  ASSERT_TRUE(folder.wait_for("port"));
  FILE* file = std::fopen(folder.file("port").c_str(), "r");
  ASSERT_NE(file, nullptr);
  int port = 0;
  ASSERT_EQ(std::fscanf(file, "%d", &port), 1);
  std::fclose(file);
  settings.port = modbus::TcpPort{"127.0.0.1", port};
  check();
}

TEST_F(ForeignSlave, is_understood_over_a_serial_line) {
  const Program line{{"socat", "pty,raw,echo=0,link=" + folder.file("ours"),
                      "pty,raw,echo=0,link=" + folder.file("theirs")}};
  ASSERT_TRUE(folder.wait_for("ours") && folder.wait_for("theirs"));
  const Program program{slave({"rtu", folder.file("theirs")})};
  settings.port = modbus::SerialPort{folder.file("ours"), 19200, modbus::Parity::none, 1};
  check();
}

/// Our scripted slave as mbpoll sees it. mbpoll counts references from 1.
class ForeignMaster : public testing::TestWithParam<Slave::Transport> {};
INSTANTIATE_TEST_SUITE_P(Wires, ForeignMaster,
                         testing::Values(Slave::Transport::tcp, Slave::Transport::pty),
                         [](const auto& wire) {
                           return wire.param == Slave::Transport::tcp ? "tcp" : "pty";
                         });

TEST_P(ForeignMaster, reads_and_writes_our_slave) {
  MachineClock clock;
  Slave slave{GetParam(), clock};
  slave.set_holding(7, 0, 812);
  slave.set_holding(7, 1, 65535);
  slave.set_input_register(7, 3, 1234);
  slave.set_input(7, 2, true);
  slave.add_outlet({.unit = 7, .address = 4});
  slave.add_outlet({.unit = 7, .address = 5});
  const bool tcp = GetParam() == Slave::Transport::tcp;
  const auto mbpoll = [&](const std::string& options, const std::string& values) {
    const std::string wire =
        tcp ? "-m tcp -p " + std::to_string(slave.port()) + " " : "-m rtu -b 19200 -P none ";
    const std::string place = tcp ? "127.0.0.1" : slave.path();
    return output_of("mbpoll -1 -a 7 " + wire + options + " " + place + " " + values);
  };
  EXPECT_THAT(mbpoll("-t 4 -r 1 -c 2", ""),
              testing::AllOf(testing::HasSubstr("[1]: \t812"), testing::HasSubstr("65535")));
  EXPECT_THAT(mbpoll("-t 3 -r 4", ""), testing::HasSubstr("[4]: \t1234"));
  EXPECT_THAT(mbpoll("-t 1 -r 3", ""), testing::HasSubstr("[3]: \t1"));
  EXPECT_THAT(mbpoll("-t 0 -r 5", "1"), testing::HasSubstr("Written 1 references"));
  EXPECT_TRUE(slave.is_on(7, 4));
  EXPECT_THAT(mbpoll("-t 0 -r 5", "0 1"), testing::HasSubstr("Written 2 references"));
  EXPECT_FALSE(slave.is_on(7, 4));
  EXPECT_TRUE(slave.is_on(7, 5));
  EXPECT_THAT(mbpoll("-t 0 -r 5 -c 2", ""), testing::HasSubstr("[6]: \t1"));
  EXPECT_THAT(mbpoll("-t 4 -r 1", "7"), testing::HasSubstr("Written 1 references"));
  EXPECT_THAT(mbpoll("-t 4 -r 1", "8 9"), testing::HasSubstr("Written 2 references"));
  EXPECT_EQ(slave.holding(7, 0), 8);
  EXPECT_EQ(slave.holding(7, 1), 9);
  EXPECT_THAT(mbpoll("-t 4 -r 1000", ""), testing::HasSubstr("Illegal data address"));
}

}  // namespace
}  // namespace limegate::test
