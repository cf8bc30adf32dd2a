#include "guard/record.h"

#include <filesystem>
#include <fstream>

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include "support/places.h"

namespace limegate::guard {
namespace {

using Stirrer = Record::Stirrer;

constexpr uid_t kNobody = 65534;  // Debian's user without rights; root may write anywhere

Record sample() {
  Record record;
  record.boot = "6f0c9a4e-5c1d-4d3f-9e0b-1f2a3b4c5d6e";
  record.newest_pulse_id = 1234;
  record.stirrer = Stirrer::resting;
  record.stir_ended = Instant{std::chrono::nanoseconds{987654321}};
  return record;
}
void expect_same(const std::optional<Record>& read, const Record& written) {
  ASSERT_TRUE(read);
  EXPECT_EQ(read->boot, written.boot);
  EXPECT_EQ(read->newest_pulse_id, written.newest_pulse_id);
  EXPECT_EQ(read->stirrer, written.stirrer);
  EXPECT_EQ(read->stir_ended, written.stir_ended);
  EXPECT_EQ(read->kept, written.kept);
}
Record with_copies() {
  Record record = sample();
  record.kept.emplace();
  record.kept->latches = {"ph-second-ceiling", "pump-stuck-on"};
  record.kept->wishes = {
      {1, Millilitres{412.5}, Duration{}, std::chrono::hours{7}, WallTime{std::chrono::hours{9}}},
      {3, Millilitres{}, std::chrono::hours{2}, std::chrono::hours{7}, WallTime{}}};
  return record;
}

RC_GTEST_PROP(Record, a_line_reads_back_as_the_record_it_was_made_of, ()) {
  Record record = sample();
  record.newest_pulse_id = *rc::gen::arbitrary<std::int64_t>();
  record.stirrer = *rc::gen::element(Stirrer::resting, Stirrer::running);
  record.stir_ended = Instant{Duration{*rc::gen::arbitrary<Duration::rep>()}};
  const auto read = Record::from_line(record.to_line());
  RC_ASSERT(read.has_value());
  RC_ASSERT(read->to_line() == record.to_line());
  RC_ASSERT(read->newest_pulse_id == record.newest_pulse_id);
  RC_ASSERT((read->stirrer == record.stirrer));
  RC_ASSERT((read->stir_ended == record.stir_ended));
}

RC_GTEST_PROP(Record, what_is_kept_reads_back_as_it_was_told, ()) {
  Record record = sample();
  record.kept.emplace();
  for (int i = *rc::gen::inRange(0, 5); i > 0; --i) {
    record.kept->latches.push_back("code-" + std::to_string(i));
  }
  for (int i = *rc::gen::inRange(0, 5); i > 0; --i) {
    const auto any = [] { return Duration{*rc::gen::arbitrary<Duration::rep>()}; };
    record.kept->wishes.push_back({*rc::gen::inRange(-1, 9),
                                   Millilitres{*rc::gen::inRange(0, 2000000000) / 1000.0}, any(),
                                   any(), WallTime{any()}});
  }
  const auto read = Record::from_line(record.to_line());
  RC_ASSERT(read.has_value());
  RC_ASSERT((read->kept == record.kept));
}

// As the first release wrote it: taken on, and known to keep nothing.
TEST(Record, of_the_first_format_is_read) {
  const std::string path = test::data_dir() + "/state-of-schema-5/guard-reef";
  const auto read = read_record(path);
  ASSERT_TRUE(read);
  EXPECT_EQ(read->newest_pulse_id, 49);
  EXPECT_FALSE(read->kept);
}

TEST(Record, any_changed_character_is_refused) {
  for (const Record& record : {sample(), with_copies()}) {
    const std::string line = record.to_line();
    for (std::size_t i = 0; i < line.size(); ++i) {
      for (int bit = 0; bit < 8; ++bit) {
        std::string changed = line;
        changed[i] = static_cast<char>(changed[i] ^ (1 << bit));
        EXPECT_FALSE(Record::from_line(changed)) << "byte " << i << " bit " << bit;
      }
    }
  }
}

TEST(Record, any_missing_or_added_character_is_refused) {
  for (const Record& record : {sample(), with_copies()}) {
    const std::string line = record.to_line();
    for (std::size_t length = 0; length < line.size(); ++length) {
      EXPECT_FALSE(Record::from_line(line.substr(0, length)));
      EXPECT_FALSE(Record::from_line(std::string{line}.insert(length, " ")));
      EXPECT_FALSE(Record::from_line(std::string{line}.insert(length, "0"))) << length;
    }
    EXPECT_FALSE(Record::from_line(line + line));
  }
}

class RecordFile : public testing::Test {
 protected:
  RecordFile() {
    std::string name = (std::filesystem::temp_directory_path() / "limegate-record-XXXXXX").string();
    folder = ::mkdtemp(name.data());
    path = (folder / "guard").string();
  }
  ~RecordFile() override { std::filesystem::remove_all(folder); }
  RecordFile(const RecordFile&) = delete;
  RecordFile& operator=(const RecordFile&) = delete;
  RecordFile(RecordFile&&) = delete;
  RecordFile& operator=(RecordFile&&) = delete;

  void put(const std::string& text) const { std::ofstream{path} << text; }

  std::filesystem::path folder;
  std::string path;
};

TEST_F(RecordFile, is_written_read_and_replaced) {
  EXPECT_FALSE(read_record(path));
  Record record = with_copies();
  EXPECT_EQ(write_record(path, record), RecordStore::Saved::durably);
  expect_same(read_record(path), record);
  record.newest_pulse_id = 1235;
  record.stirrer = Stirrer::running;
  EXPECT_EQ(write_record(path, record), RecordStore::Saved::durably);
  expect_same(read_record(path), record);
  EXPECT_FALSE(std::filesystem::exists(path + ".new"));
}

TEST_F(RecordFile, that_is_damaged_cut_short_or_empty_is_absent) {
  const std::string line = sample().to_line();
  for (const std::string& text :
       {std::string{}, line.substr(0, line.size() / 2), line.substr(0, line.size() - 1), "?" + line,
        line + line, std::string(4096, '\0')}) {
    put(text);
    EXPECT_FALSE(read_record(path)) << text;
  }
}

TEST_F(RecordFile, in_a_missing_folder_is_not_written) {
  EXPECT_EQ(write_record((folder / "gone" / "guard").string(), sample()),
            RecordStore::Saved::failed);
}

TEST_F(RecordFile, that_cannot_be_replaced_stays_as_it_was) {
  EXPECT_EQ(write_record(path, sample()), RecordStore::Saved::durably);
  std::filesystem::create_directory(path + ".new");  // nothing can be written beside it
  Record record = sample();
  record.newest_pulse_id = 1235;
  EXPECT_EQ(write_record(path, record), RecordStore::Saved::failed);
  expect_same(read_record(path), sample());
}

TEST_F(RecordFile, in_a_read_only_folder_is_not_written) {
  EXPECT_EQ(write_record(path, sample()), RecordStore::Saved::durably);
  ASSERT_EQ(::chmod(folder.c_str(), 0555), 0);
  const uid_t mine = ::geteuid();
  if (mine == 0) {
    ASSERT_EQ(::seteuid(kNobody), 0);
  }
  Record record = sample();
  record.newest_pulse_id = 1235;
  EXPECT_EQ(write_record(path, record), RecordStore::Saved::failed);
  if (mine == 0) {
    ASSERT_EQ(::seteuid(mine), 0);
  }
  ASSERT_EQ(::chmod(folder.c_str(), 0755), 0);
  expect_same(read_record(path), sample());
}

}  // namespace
}  // namespace limegate::guard
