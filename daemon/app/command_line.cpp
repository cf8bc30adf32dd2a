#include "app/command_line.h"

#include <algorithm>
#include <cstdio>
#include <ctime>
#include <filesystem>
#include <string>
#include <string_view>
#include <system_error>
#include <vector>

#include <CLI/CLI.hpp>
#include <fmt/chrono.h>
#include <fmt/format.h>

#include "app/advise_command.h"
#include "app/alerts_command.h"
#include "app/book_commands.h"
#include "app/check_command.h"
#include "app/commission_command.h"
#include "app/control_commands.h"
#include "app/delivery_check.h"
#include "app/exit_code.h"
#include "app/export_command.h"
#include "app/given_config.h"
#include "app/help_command.h"
#include "app/log.h"
#include "app/mount_wait.h"
#include "app/off_command.h"
#include "app/paces.h"
#include "app/prepare_command.h"
#include "app/rehearse_command.h"
#include "app/report_command.h"
#include "app/run_command.h"
#include "app/state_dir.h"
#include "app/typed_text.h"
#include "app/upkeep_commands.h"
#include "calculator/commands.h"
#include "config/load.h"
#include "config/nearest.h"
#include "files/mounts.h"
#include "journal/ledger.h"

namespace limegate::app {
namespace {

constexpr const char* kAbout =
    "limegate doses saturated limewater into a reef aquarium, and holds back whenever it is not\n"
    "sure: while the reactor is stirred or settles, without good probe readings, when pH is too\n"
    "high or climbs too quickly, and beyond the allowance.\n";
constexpr const char* kFooter =
    "A first evening:\n"
    "  limegate run --view                  a simulated station, nothing is switched\n"
    "  limegate check reef.toml             what would it do, and is the file right?\n"
    "  limegate rehearse reef.toml          a week of it against a simulated tank\n"
    "  limegate prepare reef.toml           creates the ledger of a new station, once\n"
    "  limegate run reef.toml               the daemon; as a service it is started for you\n"
    "  limegate status reef.toml            what does it do, and why?\n"
    "  limegate commission reef.toml        from an empty reactor to the first dose\n"
    "  limegate advise reef.toml --from BOOK.csv     how much limewater next, by your tests\n"
    "  limegate report reef.toml --out REEF.html     the last month, as a page to print\n"
    "  limegate off reef.toml               everything off, now\n"
    "At the bench, without a daemon: water, strength, effect, demand, convert, electrode.\n"
    "The manual: limegate help, limegate help config, limegate help ph-stuck.\n"
    "Exit codes: 0 fine; 1 an outlet is not confirmed off, or the work could not be done (also: a\n"
    "daemon that did not promise to stay off); 2 wrong usage or a config that is refused; 3\n"
    "another limegate holds the state directory or switches one of the outlets; 4 the daemon\n"
    "refused the command, and said why.\n"
    "Limewater is strongly caustic: gloves, eye protection, no dust. Water and mains need\n"
    "residual-current protection. Keep an independent limit in hardware, and test by hand.";

void print(const std::string& text) { std::fputs(text.c_str(), stdout); }
void complain(const std::string& text) { std::fputs(as_errors(text).c_str(), stderr); }

/// Prints what is wrong, where the caller's script or eyes look for it.
int refuse(const config::Problems& problems, const std::string& file, Format format) {
  const std::string text = explain(problems, file.empty() ? "(built in)" : file, format);
  format == Format::json ? print(text) : complain(text);
  return kBadInput;
}

int check(const std::string& file, const std::string& station, Format format) {
  auto given = load_given(file);
  if (!given) {
    return refuse(given.error(), file, format);
  }
  if (const std::string wrong = objection_to_station(given->config, station); !wrong.empty()) {
    complain(wrong);
    return kBadInput;
  }
  if (given->config.deliver) {
    if (const auto problems = problems_of(*given->config.deliver); !problems.empty()) {
      return refuse(problems, file, format);
    }
  }
  // Asked of the whole file, whichever station is shown.
  const config::Questions questions = config::questions_of(given->config);
  std::erase_if(given->config.stations, [&](const config::Station& one) {
    return !station.empty() && one.settings.name != station;
  });
  print(explain(given->config, questions, format));
  return questions.open.empty() ? kFine : kBadInput;
}

/// Once, and it goes on: an upgrade that asks more stops nobody.
void warn_of_questions(const GivenConfig& given) {
  const config::Questions questions = config::questions_of(given.config);
  std::string ids;
  for (const config::Question& question : questions.open) {
    ids += (ids.empty() ? "" : ", ") + question.id;
  }
  if (!ids.empty()) {
    log_warning("Nobody has answered what 'limegate check " + given.path +
                "' asks of this config: " + ids + ". It is run as it stands.");
  }
}

bool all_simulated(const config::Config& config) {
  return std::none_of(config.stations.begin(), config.stations.end(),
                      [](const config::Station& station) { return station.wiring.has_value(); });
}

int run_command(const std::string& file, View view) {
  const auto given = load_given(file);
  if (!given) {
    return refuse(given.error(), file, Format::people);
  }
  warn_of_questions(*given);
  wait_for_mounts(given->config,
                  [](const std::string& path) { return files::missing_mount(path); });
  Past past = Past::as_it_is;
  const bool fresh = knows_nothing(given->config);
  if (fresh && !all_simulated(given->config)) {
    complain(prepare_first(file));
    return kBadInput;
  }
  if (fresh || (file.empty() && !std::filesystem::exists(ledger_path(given->config.state_dir)))) {
    // Nothing can be harmed by a simulated station that forgets; a real one is prepared by hand.
    std::filesystem::create_directories(given->config.state_dir);
    const bool prepared = prepare_simulated(given->config);
    past = prepared && file.empty() ? Past::rehearsed : Past::as_it_is;
  }
  if (given->config.acceleration > 1.0) {
    AcceleratedPace pace{given->config.acceleration};
    return run(*given, pace, view, past);
  }
  const ClockTrust trust{
      {kernel_boot_id(), clock_note_path(given->config.state_dir), given->config.rtc}};
  RealPace pace{&trust};
  return run(*given, pace, view, past);
}

int trust_clock(const std::string& file) {
  const auto given = load_given(file);
  if (!given) {
    return refuse(given.error(), file, Format::people);
  }
  const std::string boot = kernel_boot_id();
  const std::string note = clock_note_path(given->config.state_dir);
  if (boot.empty() || !ClockTrust::note_word(note, boot)) {
    complain(note + " can't be written. Run this as the daemon's user, on this machine.\n");
    return kNotConfirmed;
  }
  print(fmt::format("Until its next start this machine's clock counts as right: {:%F %T} UTC.\n",
                    fmt::gmtime(std::time(nullptr))));
  return kFine;
}

/// What options are read into.
struct Given {
  std::string& file;
  std::string& state_dir;
  std::string& station;
  bool& json;
};

void add_prepare_command(CLI::App& app, Given given, int& code) {
  auto* prepare_it = app.add_subcommand(
      "prepare", "Create the ledger of a new station; what is there already stays as it is");
  prepare_it->add_option("CONFIG", given.file, "The owner's file")->required();
  auto* one =
      prepare_it->add_option("--station", given.station, "Only this one, where there are several");
  prepare_it->add_flag("--json", given.json, "For scripts");
  auto* never = prepare_it->add_flag("--never-dosed")
                    ->description(
                        "You state that this water was not dosed within 24 h, whatever this "
                        "machine remembers");
  auto* moved = prepare_it->add_flag("--moved-here")
                    ->description(
                        "You state that this state directory is the newest of its water, was moved "
                        "here whole, and "
                        "that nothing else doses this water");
  moved->excludes(never)->excludes(one);
  prepare_it->callback([given, never, moved, &code] {
    const Format format = given.json ? Format::json : Format::people;
    code = moved->count() > 0
               ? settle_moved(given.file, format)
               : prepare(given.file, given.station,
                         never->count() > 0 ? journal::Water::never_dosed : journal::Water::unknown,
                         format);
  });
}

/// No name, number or path of ours is longer, and the control socket takes lines of 4096.
constexpr std::size_t kArgumentMost = 2000;

/// What is wrong with the arguments before anybody looks at what they mean; empty if nothing is.
std::string objection_to(int argc, char** argv) {
  for (int i = 1; i < argc; ++i) {
    const std::string_view argument{argv[i]};
    const char* const wrong = argument.empty()                  ? "is empty"
                              : argument.size() > kArgumentMost ? "is longer than 2000 letters"
                                                                : objection_to_text(argument);
    if (wrong != nullptr) {
      return fmt::format("Argument {} {}. Run with --help for what may stand there.\n", i, wrong);
    }
  }
  return {};
}

/// What is wrong with the first word, where a command belongs; empty if nothing is.
std::string objection_to_command(const CLI::App& app, const std::string& word) {
  std::vector<std::string> names;
  for (const CLI::App* command : app.get_subcommands([](const CLI::App*) { return true; })) {
    names.push_back(command->get_name());
  }
  if (word.front() == '-' || std::find(names.begin(), names.end(), word) != names.end()) {
    return {};
  }
  // In a hurry, what is meant must not be guessed by its letters.
  const bool stops = word == "stop" || word == "halt" || word == "kill";
  const std::string near = stops ? "off" : config::nearest(word, names);
  return fmt::format("There is no command '{}'{} limegate --help lists them.\n", word,
                     near.empty() ? "." : fmt::format("; did you mean '{}'?", near));
}

void add_trust_clock(CLI::App& app, Given given, int& code) {
  auto* trust_it = app.add_subcommand(
      "trust-clock",
      "Say that this machine's clock is right, where no time service can: until its next start");
  trust_it->add_option("CONFIG", given.file, "The owner's file")->required();
  trust_it->callback([given, &code] { code = trust_clock(given.file); });
}

void add_off(CLI::App& app, Given given, int& code) {
  CLI::App* off_it = app.add_subcommand(
      "off",
      "Switch every outlet off and read it back. Works with a broken file too, from the last valid "
      "copy. A daemon that runs then stays off, until: limegate release CONFIG switched-off. Where "
      "none runs, nothing is held back: the next start doses");
  off_it->add_option("CONFIG", given.file,
                     "The owner's file; without one the service's, /etc/limegate/limegate.toml");
  off_it->add_option("--state-dir", given.state_dir,
                     "The daemon's, with the last valid copy and its control socket; else what "
                     "CONFIG tells, or the service's, /var/lib/limegate");
  off_it->add_option("--station", given.station, "Is taken; off is of every station all the same");
  off_it->add_flag("--json", given.json, "For scripts");
  off_it->add_flag("--after-hang")->group("");  // the daemon ends so, over a bus that hangs
  off_it->callback([off_it, given, &code] {
    if (!given.station.empty()) {
      complain("Off is of every station, whichever is named: nothing is left on.\n");
    }
    code = off_it->count("--after-hang") > 0
               ? off_after_hang(given.file, given.state_dir)
               : off(given.file, given.state_dir, given.json ? Format::json : Format::people);
  });
}

}  // namespace

int command_line(int argc, char** argv) {
  start_log();
  if (const std::string objection = objection_to(argc, argv); !objection.empty()) {
    complain(objection);
    return kBadInput;
  }
  CLI::App app{kAbout, "limegate"};
  app.set_version_flag("--version", std::string{"limegate "} + LIMEGATE_VERSION);
  app.require_subcommand(1);
  std::string file;
  std::string state_dir;
  std::string station;
  bool json = false;
  bool screen = false;
  const auto format = [&] { return json ? Format::json : Format::people; };
  int code = kFine;

  auto* run =
      app.add_subcommand("run", "Run the daemon until it is told to stop (SIGTERM, Ctrl-C)");
  run->add_option("CONFIG", file, "The owner's file; without one a simulated station is run");
  run->add_flag("--view", screen, "Show the stations in the terminal instead of the log");
  run->callback([&] { code = run_command(file, screen ? View::screen : View::log); });

  auto* check_it = app.add_subcommand(
      "check", "Say what the daemon would do with a config, or everything that is wrong with it");
  check_it->add_option("CONFIG", file, "The owner's file")->required();
  check_it->add_option("--station", station, "Show only this one, where there are several");
  check_it->add_flag("--json", json, "For scripts");
  check_it->callback([&] { code = check(file, station, format()); });

  const Given given{file, state_dir, station, json};
  add_prepare_command(app, given, code);

  add_trust_clock(app, given, code);
  add_off(app, given, code);
  add_control_commands(app, code);
  add_book_commands(app, code);
  add_upkeep_commands(app, code);
  add_alerts_command(app, code);
  add_report_command(app, code);
  add_export_command(app, code);
  add_rehearse_command(app, code);
  add_advise_command(app, code);
  add_commission_command(app, code);
  calculator::add_commands(app, code);
  add_help_command(app, code);
  app.footer(kFooter);  // after them, or each would have it, too

  if (const std::string objection = argc > 1 ? objection_to_command(app, argv[1]) : "";
      !objection.empty()) {
    complain(objection);
    return kBadInput;
  }
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? kFine : kBadInput;
  }
  return code;
}

}  // namespace limegate::app
