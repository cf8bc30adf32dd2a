// Each kind of message against the schema that is shipped, by the reference implementation of JSON
// Schema in Python (python3-jsonschema of Debian); CloudEvents 1.0, sections "REQUIRED Attributes".

#include "alerts/cloud_event.h"

#include <string>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "support/places.h"
#include "support/program.h"

namespace limegate::alerts {
namespace {

using nlohmann::json;

Message message_of(const Kind& kind, Message::Type type, State state) {
  Message message{"id-" + std::string{kind.id}, WallTime{std::chrono::hours{500000}}, type};
  Message::Item item;
  item.station = type == Message::Type::again ? "" : "reef";
  std::string id{kind.id};
  if (id.back() == '*') {
    id.back() = 'x';
  }
  item.id = id;
  item.number = "n";
  item.state = name_of(state);
  item.urgency = kind.urgency;
  item.latched = kind.ends == Kind::Ends::by_release;
  item.sentence = "It is so: \xC2\xB5, \"quoted\"\n and \xFF.";
  item.since = message.at;
  item.consequence = kind.consequence;
  item.action = kind.action;
  item.may_wait = kind.may_wait;
  item.explains = {"That follows."};
  message.alerts = {item};
  write_for_people(message);
  return message;
}

TEST(CloudEvent, of_every_kind_and_type_fits_the_schema) {
  json all = json::array();
  for (const Kind& kind : kinds()) {
    for (const auto type : {Message::Type::raised, Message::Type::again, Message::Type::returned}) {
      for (const State state : {State::unacknowledged, State::acknowledged, State::shelved,
                                State::returned_unacknowledged}) {
        all.push_back(json::parse(cloud_event(message_of(kind, type, state), "//host/limegate")));
      }
    }
  }
  for (const auto type : {Message::Type::test, Message::Type::all_well}) {
    Message message{"id", WallTime{}, type};
    write_for_people(message);
    all.push_back(json::parse(cloud_event(message, "//host/limegate")));
  }
  const test::TempDir folder;
  test::write_file(folder.path() + "/all.json", all.dump());
  const test::Ran ran = test::run_program(
      {"/usr/bin/python3", "-c",
       "import json, jsonschema, sys\n"
       "schema = json.load(open(sys.argv[1]))\n"
       "check = jsonschema.Draft202012Validator(schema)\n"
       "check.check_schema(schema)\n"
       "messages = json.load(open(sys.argv[2]))\n"
       "errors = [e.message for m in messages for e in check.iter_errors(m)]\n"
       "broken = dict(messages[0]); del broken['id']\n"
       "assert list(check.iter_errors(broken)), 'the schema takes anything'\n"
       "print(len(messages), errors[:3])\n"
       "sys.exit(bool(errors))",
       test::source_dir() + "/daemon/alerts/alert.schema.json", folder.path() + "/all.json"});
  EXPECT_EQ(ran.code, 0) << ran.output;
  EXPECT_GT(all.size(), 500U);
}

TEST(CloudEvent, shows_a_subject_of_whole_letters_on_one_line) {
  Message message = message_of(kinds().front(), Message::Type::raised, State::unacknowledged);
  message.alerts[0].sentence = std::string(138, 'x') + "\xC3\xA4\xC3\xA4\xC3\xA4.";
  write_for_people(message);
  EXPECT_EQ(json::parse(cloud_event(message, "x"))["data"]["subject"], message.subject);
  message.alerts[0].sentence = "One\nBcc: somebody@example.org";
  write_for_people(message);
  EXPECT_EQ(message.subject.find('\n'), std::string::npos);
}

}  // namespace
}  // namespace limegate::alerts
