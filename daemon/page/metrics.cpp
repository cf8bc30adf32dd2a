#include "page/metrics.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "alerts/verdict.h"

namespace limegate::page {
namespace {

using station::Status;

/// One thing that is measured, with a sample for each station that knows it.
struct Family {
  std::string_view name;  ///< with its unit, without "_total"
  std::string_view type;  ///< "gauge" or "counter"
  std::string_view unit;  ///< the name's suffix; empty: none
  std::string_view help;
  std::function<std::optional<double>(const Status&)> value;
};

double liters(Millilitres volume) { return volume.count() / 1000.0; }
double seconds(Duration duration) { return std::chrono::duration<double>(duration).count(); }
double yes(bool fact) { return fact ? 1.0 : 0.0; }

std::optional<double> of(const signal::Reading& reading) {
  return reading.quality == signal::Quality::bad ? std::nullopt : std::optional{reading.value};
}

/// Where the record is missing the whole allowance counts as used, and no volume is known.
std::optional<double> counted(Millilitres volume) {
  return volume >= kCountsAsFull ? std::nullopt : std::optional{liters(volume)};
}

const std::vector<Family>& families() {
  using Value = std::optional<double>;
  static const std::vector<Family> all{
      {"limegate_ph", "gauge", "", "pH, while the probe is good.",
       [](const Status& s) { return of(s.ph); }},
      {"limegate_usual_ph", "gauge", "", "pH that is usual at this hour, once it is learned.",
       [](const Status& s) { return s.usual_ph ? Value{s.usual_ph->count()} : std::nullopt; }},
      {"limegate_temperature_celsius", "gauge", "celsius", "While the probe is good.",
       [](const Status& s) { return of(s.temperature); }},
      {"limegate_gate_open", "gauge", "", "1: a pulse may begin.",
       [](const Status& s) { return Value{yes(s.gate_open)}; }},
      {"limegate_pump_running", "gauge", "", "1: limewater flows, by command.",
       [](const Status& s) { return Value{yes(s.pump == station::PumpDuty::Phase::running)}; }},
      {"limegate_given_liters", "counter", "liters", "Given by all pulses that are over.",
       [](const Status& s) {
         return s.given_in_all ? Value{liters(*s.given_in_all)} : std::nullopt;
       }},
      {"limegate_counted_day_liters", "gauge", "liters", "What counts within a sliding 24 h.",
       [](const Status& s) { return counted(s.given_day); }},
      {"limegate_day_limit_liters", "gauge", "liters", "The most within a sliding 24 h.",
       [](const Status& s) { return Value{liters(s.day_limit)}; }},
      {"limegate_day_volume_liters", "gauge", "liters", "What is planned each day, as in force.",
       [](const Status& s) { return Value{liters(s.day_volume_in_force)}; }},
      {"limegate_next_pulse_seconds", "gauge", "seconds", "Until it, while nothing holds it.",
       [](const Status& s) {
         return s.next_pulse_in ? Value{seconds(*s.next_pulse_in)} : std::nullopt;
       }},
      {"limegate_powder_grams", "gauge", "grams", "Powder that can still be given, at the least.",
       [](const Status& s) { return s.powder ? Value{s.powder->left_g.low} : std::nullopt; }},
      {"limegate_upkeep_due", "gauge", "", "Chores that are due.",
       [](const Status& s) {
         return Value{static_cast<double>(
             std::count_if(s.upkeep.begin(), s.upkeep.end(), [](const care::UpkeepItem& item) {
               return item.state == care::UpkeepItem::State::due;
             }))};
       }},
      {"limegate_needs_a_person", "gauge", "", "1: the verdict says so.",
       [](const Status& s) {
         return Value{
             yes(alerts::verdict_of(s).standing == alerts::Verdict::Standing::needs_a_person)};
       }},
  };
  return all;
}

/// A label's value; names are checked by the loader, codes are ours.
std::string label_value(std::string_view value) {
  std::string text = "\"";
  for (const char letter : value) {
    text += letter == '\\'   ? "\\\\"
            : letter == '"'  ? "\\\""
            : letter == '\n' ? "\\n"
                             : std::string(1, letter);
  }
  return text + '"';
}

class Writer {
 public:
  explicit Writer(MetricsForm form) : open_(form == MetricsForm::open_metrics) {}

  void family(std::string_view name, std::string_view type, std::string_view unit,
              std::string_view help) {
    base_ = name;
    name_ = type == "counter" ? fmt::format("{}_total", name)
            : type == "info"  ? fmt::format("{}_info", name)
                              : std::string{name};
    const std::string_view family = open_ ? name : std::string_view{name_};
    text_ += fmt::format("# TYPE {} {}\n", family, open_ || type != "info" ? type : "gauge");
    if (open_ && !unit.empty()) {
      text_ += fmt::format("# UNIT {} {}\n", family, unit);
    }
    text_ += fmt::format("# HELP {} {}\n", family, help);
  }
  void sample(const std::string& labels, double value) {
    if (std::isfinite(value)) {
      text_ +=
          fmt::format("{}{} {:.12g}\n", name_, labels.empty() ? "" : "{" + labels + "}", value);
    }
  }
  /// When the counters of this family began; the plain form has no such thing.
  void created(const std::string& labels, WallTime since) {
    if (open_) {
      text_ +=
          fmt::format("{}_created{{{}}} {}\n", base_, labels,
                      std::chrono::floor<std::chrono::seconds>(since.time_since_epoch()).count());
    }
  }
  [[nodiscard]] std::string end() { return std::move(text_) + (open_ ? "# EOF\n" : ""); }

 private:
  bool open_;
  std::string base_, name_;
  std::string text_;
};

std::string of_station(const std::string& name) { return "station=" + label_value(name); }

void write_holds(Writer& writer, const station::Overview& overview) {
  writer.family("limegate_hold", "gauge", "", "1 for each reason why no pulse may begin.");
  for (const Status& status : overview.stations) {
    for (const Status::Held& held : status.holds) {
      writer.sample(fmt::format("{},code={}", of_station(status.station), label_value(held.code)),
                    1.0);
    }
  }
}

void write_alerts(Writer& writer, const station::Overview& overview) {
  writer.family("limegate_alert", "gauge", "",
                "1 for each alert, with how soon a person must act.");
  const auto write = [&](const std::string& station, const std::vector<station::Alert>& alerts) {
    for (const station::Alert& alert : alerts) {
      writer.sample(fmt::format("{},id={},number={},urgency={},state={}", of_station(station),
                                label_value(alert.id), label_value(alert.number),
                                label_value(alert.urgency), label_value(alert.state)),
                    1.0);
    }
  };
  write("", overview.alerts);
  for (const Status& status : overview.stations) {
    write(status.station, status.alerts);
  }
}

/// Counters of what was told, each with its own label beside the station.
struct CountedFamily {
  std::string_view name, help;
  /// Of an event: the label with its value; absent: it is not counted here.
  std::function<std::optional<std::string>(const journal::Counts::Count&)> label;
};

std::string label(std::string_view name, std::string_view value) {
  return fmt::format("{}={}", name, label_value(value));
}

const std::vector<CountedFamily>& counted_families() {
  using Count = journal::Counts::Count;
  using Label = std::optional<std::string>;
  static const std::vector<CountedFamily> all{
      {"limegate_pulses", "Pulses that are over, by what came of them.",
       [](const Count& count) {
         constexpr std::string_view pulse = "pulse-";
         return count.code.starts_with(pulse)
                    ? Label{label("outcome", std::string_view{count.code}.substr(pulse.size()))}
                    : std::nullopt;
       }},
      {"limegate_holds", "How often each hold began.",
       [](const Count& count) {
         constexpr std::string_view held = "held-";
         return count.code.starts_with(held)
                    ? Label{label("code", std::string_view{count.code}.substr(held.size()))}
                    : std::nullopt;
       }},
      {"limegate_bus_faults", "How often a probe that had answered did not, by the bus.",
       [](const Count& count) {
         return count.code == "probe-fault" && !count.about.empty()
                    ? Label{label("bus", count.about)}
                    : std::nullopt;
       }},
      {"limegate_events", "Events by their code.",
       [](const Count& count) { return Label{label("code", count.code)}; }},
  };
  return all;
}

void write_counts(Writer& writer, const journal::Counts& counts) {
  for (const CountedFamily& family : counted_families()) {
    std::map<std::string, std::int64_t> sums;
    for (const journal::Counts::Count& count : counts.all) {
      if (const auto own = family.label(count)) {
        sums[fmt::format("{},{}", of_station(count.station), *own)] += count.times;
      }
    }
    writer.family(family.name, "counter", "", family.help);
    for (const auto& [labels, times] : sums) {
      writer.sample(labels, static_cast<double>(times));
      writer.created(labels, counts.since);
    }
  }
}

}  // namespace

MetricsForm form_of(std::string_view accept) {
  return accept.find("application/openmetrics-text") != std::string_view::npos
             ? MetricsForm::open_metrics
             : MetricsForm::plain;
}

std::string_view media_type_of(MetricsForm form) {
  return form == MetricsForm::open_metrics
             ? "application/openmetrics-text; version=1.0.0; charset=utf-8"
             : "text/plain; version=0.0.4; charset=utf-8";
}

std::string metrics_of(const station::Overview& overview, const journal::Counts* counts,
                       MetricsForm form) {
  Writer writer{form};
  writer.family("limegate", "info", "", "The program.");
  writer.sample(label("version", LIMEGATE_VERSION), 1.0);
  for (const Family& family : families()) {
    writer.family(family.name, family.type, family.unit, family.help);
    for (const Status& status : overview.stations) {
      if (const auto value = family.value(status)) {
        writer.sample(of_station(status.station), *value);
        if (family.type == "counter" && counts != nullptr &&
            counts->stations.count(status.station) != 0) {
          writer.created(of_station(status.station), counts->stations.at(status.station));
        }
      }
    }
  }
  write_holds(writer, overview);
  write_alerts(writer, overview);
  if (counts != nullptr) {
    write_counts(writer, *counts);
  }
  writer.family("limegate_mqtt_connected", "gauge", "", "1: the whole tree stands at the broker.");
  if (overview.mqtt) {
    writer.sample("", yes(overview.mqtt->connected));
  }
  writer.family("limegate_start_time_seconds", "gauge", "seconds", "When the daemon started.");
  writer.sample("", seconds(overview.started.time_since_epoch()));
  return writer.end();
}

}  // namespace limegate::page
