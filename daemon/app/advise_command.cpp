#include "app/advise_command.h"

#include <chrono>
#include <cmath>
#include <memory>
#include <optional>
#include <string>
#include <utility>

#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <tl/expected.hpp>

#include "app/advice_page.h"
#include "app/asking.h"
#include "app/check_command.h"
#include "app/exit_code.h"
#include "app/given_config.h"
#include "app/log.h"
#include "app/site_supply.h"
#include "app/station_book.h"
#include "app/time_given.h"
#include "calculator/inputs.h"
#include "calculator/limewater_input.h"
#include "care/advice.h"
#include "care/powder.h"
#include "chemistry/keeper_units.h"
#include "config/site_bounds.h"
#include "files/regular.h"
#include "station/command.h"

namespace limegate::app {
namespace {

using calculator::Input;
using calculator::refuse;

/// Years of rows.
constexpr std::size_t kLongestBook = std::size_t{1024} * 1024;
constexpr Duration kDay = std::chrono::hours{24};
/// Nothing is foretold for longer.
constexpr Duration kFurthest = 60 * kDay;
/// What may be aimed at: within what reef keepers hold, 7 to 11 dKH (common practice), and a
/// little.
constexpr double kTargetLow = 6.0, kTargetHigh = 12.0;

struct Given : Meant {
  std::string book;
  std::string at, next_test, target, by;
  calculator::LimewaterOptions limewater;
  bool apply = false;
};

Input<std::optional<Dkh>> target_of(const Given& given) {
  if (given.target.empty()) {
    return std::optional<Dkh>{};
  }
  const auto level = calculator::parse_dkh("--target", given.target);
  if (!level) {
    return refuse(level.error());
  }
  if (!(level->count() >= kTargetLow && level->count() <= kTargetHigh)) {
    return refuse(fmt::format("--target {:.1f} dKH must lie within {:g} and {:g} dKH",
                              level->count(), kTargetLow, kTargetHigh));
  }
  return std::optional{*level};
}

Input<care::Asked> asked_of(const Given& given, WallTime now) {
  const auto at = time_given("--at", given.at, now);
  if (!at) {
    return refuse(at.error());
  }
  const auto next = time_given("--next-test", given.next_test, *at + 7 * kDay);
  if (!next) {
    return refuse(next.error());
  }
  if (*next < *at || *next > *at + kFurthest) {
    return refuse("--next-test must lie within 60 days after --at");
  }
  const auto target = target_of(given);
  if (!target) {
    return refuse(target.error());
  }
  care::Asked asked{*at, *next, *target};
  const auto by = time_given("--by", given.by, *at + asked.within);
  if (!by) {
    return refuse(by.error());
  }
  if (!(*by > *at)) {
    return refuse("--by must be later than --at");
  }
  asked.within = *by - *at;
  return asked;
}

/// As it was said, else saturated at the temperature that `check` assumes.
Input<chemistry::Limewater> limewater_of(const calculator::LimewaterOptions& said) {
  calculator::LimewaterOptions options = said;
  if (options.strength.empty() && options.reactor_temperature.empty()) {
    options.reactor_temperature = fmt::format("{:g}C", care::kReactorAssumed.count());
  }
  return calculator::limewater_of(options, care::kReactorAssumed);
}

Input<care::Site> site_of(const config::Site& site, const calculator::LimewaterOptions& said) {
  const auto limewater = limewater_of(said);
  if (!limewater) {
    return refuse(limewater.error());
  }
  const auto each = calculator::in_words(supply_of(site, *limewater, Millilitres{1.0}));
  if (!each) {
    return refuse(each.error());
  }
  if (!(each->alkalinity.count() > 0.0)) {
    return refuse("limewater without lime gives no alkalinity, however much of it");
  }
  return care::Site{
      site.water, site.evaporation_per_day, config::day_bound(site), each->alkalinity,
      care::Reactor{site.reactor_bore, chemistry::powder_grams(*limewater, Millilitres{1.0})}};
}

Input<care::ReadBook> book_of(const std::string& path) {
  const auto text = files::read_regular(path, kLongestBook);
  if (!text) {
    return refuse(fmt::format("{}: can't be read: {}", path, text.error()));
  }
  auto read = care::read_book(*text);
  if (!read) {
    return refuse(fmt::format("{}: {}", path, read.error()));
  }
  return std::move(*read);
}

/// Everything that the advice is asked for, but for the book.
struct Question {
  const config::Station* station;
  care::Asked asked;
  care::Site site;
};

Input<Question> question_of(const Given& given, const config::Config& config, WallTime now) {
  if (given.apply && (!given.book.empty() || !given.at.empty())) {
    return refuse("--apply is for the station's own book and for now: leave --from and --at out");
  }
  const auto station = station_meant(config, given.station);
  if (!station) {
    return refuse(station.error());
  }
  const auto asked = asked_of(given, now);
  if (!asked) {
    return refuse(asked.error());
  }
  const auto site = site_of((*station)->site, given.limewater);
  if (!site) {
    return refuse(site.error());
  }
  return Question{*station, *asked, *site};
}

int refused(const std::string& why) {
  complain(as_errors(fmt::format("limegate advise: {}.\n", why)));
  return kBadInput;
}

/// Whole millilitres, downwards: no advice is rounded up.
int apply(const Given& given, const care::Advice& advice) {
  if (!advice.enough_tests || !advice.next) {
    complain("Not applied: there are not enough tests yet. The volume stays as it is.\n");
    return kRefused;
  }
  return send(given, station::name_of(station::SetDayVolume{}),
              nlohmann::json{{"ml", std::floor(advice.next->count())}});
}

int advise(const Given& given) {
  const auto config = load_given(given.file);
  if (!config) {
    complain(as_errors(explain(config.error(), given.file, Format::people)));
    return kBadInput;
  }
  const auto now = std::chrono::time_point_cast<Duration>(
      std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now()));
  auto question = question_of(given, config->config, now);
  if (!question) {
    return refused(question.error());
  }
  care::ReadBook read;
  if (given.book.empty()) {
    auto book = station_book(given, config->config,
                             given.at.empty() ? std::nullopt : std::optional{question->asked.at});
    if (!book) {
      return book.error();
    }
    read = std::move(book->read);
    question = question_of(given, config->config, book->now);
  } else {
    auto book = book_of(given.book);
    if (!book) {
      return refused(book.error());
    }
    read = std::move(*book);
  }
  if (!question) {
    return refused(question.error());
  }
  const care::Advice advice = care::advise(read, question->site, question->asked);
  if (given.apply) {
    return apply(given, advice);
  }
  const std::string& name = question->station->settings.name;
  print(given.json ? json_of(advice, name, question->asked)
                   : page_of(advice, name, question->asked));
  return kFine;
}

}  // namespace

void add_advise_command(CLI::App& app, int& code) {
  const auto given = std::make_shared<Given>();
  CLI::App* command = app.add_subcommand(
      "advise",
      "How much limewater next, by a book of your water tests; nothing is changed without --apply");
  command->add_option("CONFIG", given->file, "The owner's file")->required();
  command->add_option("--from", given->book,
                      "A file of the columns time,what,value,unit and a row for each test, day of "
                      "limewater, water change or supplement; else the running daemon's own book");
  command->add_option("--at", given->at, "When it is asked: 2026-11-25T07:15:00Z; else now");
  command->add_option("--next-test", given->next_test,
                      "When you will test next; else in seven days");
  command->add_option("--target", given->target,
                      "Alkalinity to aim at, as your kit reads it: 8.3dKH; else what there is");
  command->add_option("--by", given->by, "When it should be reached; else in 14 days");
  calculator::add_limewater_options(*command, given->limewater);
  command->add_option("--station", given->station, "The one of the book, where there are several");
  command->add_flag("--json", given->json, "For scripts");
  command->add_flag("--apply", given->apply,
                    "Set the next volume at the running daemon, by its own book");
  command->footer(
      "A book, to begin with:\n"
      "  time,what,value,unit\n"
      "  2026-11-01T18:00:00Z,alkalinity,8.3,dKH\n"
      "  2026-11-01T00:00:00Z,limewater,1900,mL      what was given in the 24 h from then on\n"
      "  2026-11-08T18:00:00Z,water_change,40,L      and new_water,8.5,dKH before it\n"
      "Unless said otherwise the limewater is saturated at 25 C.");
  command->callback([given, &code] { code = advise(*given); });
}

}  // namespace limegate::app
