#include <csignal>
#include <string>

#include <gtest/gtest.h>

#include "app/bench.h"
#include "support/places.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Runs the built program by a shell; `stream` is what JOURNAL_STREAM says.
Ran with_stream(const std::string& stream, const std::string& arguments) {
  return run_program({"/bin/bash", "-c",
                      "JOURNAL_STREAM=" + stream + " exec " + limegate_path() + " " + arguments});
}

const char* const kOurStandardError = "$(stat -Lc %d:%i /dev/stderr)";  // systemd.exec(5)

// journald's prefixes: sd-daemon(3), 3 = error and 6 = information.
TEST(Log, a_complaint_is_an_error_where_journald_listens_and_plain_elsewhere) {
  const TempDir folder;
  const std::string file = folder.path() + "/reef.toml";
  write_file(file, "[daemon]\nstate_dir = \"state\"\npoll = 1\n");
  const Ran journal = with_stream(kOurStandardError, "run " + file);
  EXPECT_EQ(journal.code, 2);
  EXPECT_EQ(journal.output.rfind("<3>" + file, 0), 0U) << journal.output;
  EXPECT_TRUE(contains(journal.output, "\n<3>")) << "each line of its own\n" << journal.output;
  // An inherited one, from a shell that some service started, means somebody else's output.
  const Ran elsewhere = with_stream("9:123", "run " + file);
  EXPECT_EQ(elsewhere.code, 2);
  EXPECT_FALSE(contains(elsewhere.output, "<3>")) << elsewhere.output;
}

TEST(Log, a_daemons_lines_carry_their_priority_only_where_journald_listens) {
  for (const std::string stream : {kOurStandardError, "9:123"}) {
    Bench bench{{}};
    bench.prepare();
    const TempDir folder;
    Program daemon{
        {"/bin/bash", "-c",
         "JOURNAL_STREAM=" + stream + " exec " + limegate_path() + " run " + bench.config()},
        folder.path() + "/log"};
    // The first step: from here on it ends politely.
    ASSERT_TRUE(bench.wait_for([&] { return contains(daemon.output(), "event=held-"); }));
    daemon.signal(SIGTERM);
    EXPECT_EQ(daemon.wait(60s), 0) << daemon.output();
    EXPECT_EQ(contains(daemon.output(), "<6>started stations=1"), stream == kOurStandardError)
        << daemon.output();
  }
}

TEST(Log, an_off_that_is_not_confirmed_is_an_error) {
  Bench bench{{}};
  bench.slave().close_port();
  const Ran off = with_stream(kOurStandardError, "off " + bench.config());
  EXPECT_EQ(off.code, 1);
  EXPECT_TRUE(contains(off.output, "<3>Not every outlet is confirmed to be off.")) << off.output;
}

}  // namespace
}  // namespace limegate::test
