// What a world hears of its buses.

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <set>

#include "app/world.h"
#include "rules/for_people.h"

namespace limegate::app {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// As long as a hold of a probe stands before it is told: then they are one message.
constexpr Duration kBusSilent = 10min;

/// What an answer of a probe, or its absence, means to a person.
const char* advice_on(std::optional<ports::BusFault> fault) {
  if (!fault) {
    return "answers.";
  }
  switch (*fault) {
    case ports::BusFault::timed_out:
    case ports::BusFault::backing_off:
      return "does not answer. Check its power, its cable, the unit number and the line's "
             "settings.";
    case ports::BusFault::corrupt_reply:
      return "answers with something that can't be believed. Check the line: termination, two "
             "devices with one unit number, another master.";
    case ports::BusFault::refused_by_device:
      return "lives, and refuses the request. Check table, address and encoding in the config; of "
             "a GPIO line its number, and that nobody else uses it.";
    case ports::BusFault::port_gone:
      return "can't be reached: its port can't be opened, or is used by another program.";
  }
  std::abort();
}

}  // namespace

void World::poll(Line& line, const std::vector<std::size_t>& probes) {
  // A bus that has not answered is not asked again; its readings grow old, and that holds.
  if (line.outstanding || probes.empty()) {
    return;
  }
  line.outstanding = true;
  line.bus->poll(probes, [this, &line](const ports::Answers& answers) {
    line.outstanding = !answers.last;
    take(line, answers.samples);
  });
}

void World::take(Line& line, const std::vector<ports::Sample>& samples) {
  for (const ports::Sample& sample : samples) {
    Probe& probe = line.probes[sample.probe];
    note_fault(line, probe, sample.value ? std::nullopt : std::optional{sample.value.error()});
    shell::StationShell& shell = *shells_[probe.shell];
    const auto value = sample.value ? std::optional{*sample.value} : std::nullopt;
    if (probe.meaning == Meaning::stirrer) {
      shell.observe_stirrer({value ? std::optional{*value > 0.5} : std::nullopt, sample.at});
    } else if (probe.meaning == Meaning::input) {
      shell.observe(station::InputSample{probe.input, value, sample.at});
    } else {
      shell.observe(station::ProbeSample{probe.meaning == Meaning::ph ? rules::Role::ph
                                         : probe.meaning == Meaning::second_ph
                                             ? rules::Role::second_ph
                                             : rules::Role::temperature,
                                         value, sample.at});
    }
  }
}

std::string World::name_of(const Probe& probe) {
  switch (probe.meaning) {
    case Meaning::ph:
      return "pH probe";
    case Meaning::second_ph:
      return "second pH probe";
    case Meaning::temperature:
      return "temperature probe";
    case Meaning::stirrer:
      return "stirrer's input";
    case Meaning::input:
      return "input " + probe.input_name;
  }
  std::abort();
}

void World::note_fault(const Line& line, Probe& probe, std::optional<ports::BusFault> fault) {
  // A device that is given a rest has not changed its mind.
  if (fault == ports::BusFault::backing_off || fault == probe.fault) {
    return;
  }
  probe.fault = fault;
  const std::string sentence =
      "The " + name_of(probe) + " (" + probe.place + ") " + advice_on(fault);
  raise(shells_[probe.shell]->core().name(),
        {pace_.clock().now().wall,
         fault ? station::Severity::warning : station::Severity::info,
         fault ? "probe-fault" : "probe-answers",
         sentence,
         {},
         {},
         {},
         line.name});
}

/// One cause for all that hangs on it. A bus of one probe is that probe.
void World::note_silence(Line& line) {
  const Moment now = pace_.clock().now();
  const bool silent = line.probes.size() > 1 &&
                      std::all_of(line.probes.begin(), line.probes.end(),
                                  [](const Probe& probe) { return probe.fault.has_value(); });
  line.silent_since = silent ? std::optional{line.silent_since.value_or(now.mono)} : std::nullopt;
  const bool tells = silent && now.mono - *line.silent_since >= kBusSilent;
  if (tells == line.silence_told) {
    return;
  }
  line.silence_told = tells;
  std::set<std::size_t> stations;
  for (const Probe& probe : line.probes) {
    stations.insert(probe.shell);
  }
  for (const std::size_t station : stations) {
    raise(shells_[station]->name(),
          tells ? station::Event{now.wall,
                                 station::Severity::alert,
                                 "bus-silent",
                                 "Nothing on the bus of the " + name_of(line.probes.front()) +
                                     " (" + line.probes.front().place + ") answers for " +
                                     rules::for_people(kBusSilent) + ".",
                                 "bus-silent",
                                 {},
                                 {},
                                 line.name}
                : station::Event{now.wall,
                                 station::Severity::info,
                                 "bus-answers",
                                 "The bus of the " + name_of(line.probes.front()) + " answers.",
                                 {},
                                 "bus-silent"});
  }
}

void World::quick_poll() {
  for (Line& line : lines_) {
    const bool wanted = std::any_of(
        line.probes.begin(), line.probes.end(),
        [this](const Probe& probe) { return shells_[probe.shell]->core().wants_quick_readings(); });
    if (wanted) {
      poll(line, line.gating);
    }
  }
}

}  // namespace limegate::app
