#include "config/question.h"

#include <algorithm>

#include <fmt/format.h>

#include "config/question_rows.h"

namespace limegate::config {
namespace {

bool holds(const std::vector<std::string>& ids, const std::string& id) {
  return std::find(ids.begin(), ids.end(), id) != ids.end();
}

template <class Asks>
std::vector<std::string> ids_of() {
  std::vector<std::string> ids;
  for (const QuestionRow& row : question_rows()) {
    if (std::holds_alternative<Asks>(row.asks)) {
      ids.emplace_back(row.id);
    }
  }
  return ids;
}

/// Where an answer stands, and what it has said.
struct Answers {
  std::string table;   ///< "[daemon]"
  std::string prefix;  ///< of the keys of its questions
  const std::vector<std::string>& confirmed;
};

/// Takes down one row's question.
void note(const QuestionRow& row, const std::optional<std::string>& sentence,
          const Answers& answers, Questions& questions) {
  const bool answered = holds(answers.confirmed, row.id);
  if (sentence && !answered) {
    std::vector<std::string> all = answers.confirmed;
    all.emplace_back(row.id);
    std::string list;
    for (const std::string& id : all) {
      list += (list.empty() ? "\"" : ", \"") + id + "\"";
    }
    questions.open.push_back({row.id, answers.prefix + row.key, *sentence,
                              fmt::format("confirmed = [{}] in {}", list, answers.table)});
  } else if (!sentence && answered) {
    questions.warnings.push_back(fmt::format(
        "{}confirmed: '{}' answers a question that is not asked any more; remove it, so that it "
        "does not answer one that comes later.",
        answers.prefix.empty() ? "daemon." : answers.prefix, row.id));
  }
}

}  // namespace

// The table, one row a question.
// NOLINTNEXTLINE(readability-function-size)
const std::vector<QuestionRow>& question_rows() {
  static const std::vector<QuestionRow> rows{
      {"water-volume", "water_volume_l", "water_volume_l is below 20 or above 5000",
       ask::water_volume},
      {"gallons", "water_volume_l",
       "water_volume_l is a size in which tanks are sold by the US gallon, and what evaporates is "
       "more than 2 % of it",
       ask::gallons},
      {"evaporation", "evaporation_ml_per_day",
       "the evaporation is below 0.3 or above 5 % of the water a day", ask::evaporation},
      {"reactor-bore", "reactor_bore_mm", "reactor_bore_mm is below 40 or above 400",
       ask::reactor_bore},
      {"pump-rate", "pump.rate_ml_per_min", "rate_ml_per_min is below 1 or above 250",
       ask::pump_rate},
      {"pump-share", "pump.rate_ml_per_min",
       "the pump has to run for more than 40 % of the time in which the limewater is clear",
       ask::pump_share},
      {"short-pulse", "pump.rate_ml_per_min", "a pulse takes less than a second", ask::short_pulse},
      {"long-pulse", "plan.max_pulse_ml",
       "max_pulse_ml takes the pump longer than max_pulse_s, of which 120 is the bound",
       ask::long_pulse},
      {"relay-life", "plan", "the pump's relay starts so often that it lasts less than 3 years",
       ask::relay_life},
      {"settle-time", "limits.settle_min", "settle_min is below 60", ask::settle_time},
      {"limits-at-bounds", "limits", "six or more limits stand at the bound that no file can pass",
       ask::limits_at_bounds},
      {"temperature-band", "limits.temperature_low_c",
       "temperature_low_c and temperature_high_c leave less than 2 degrees between them",
       ask::temperature_band},
      {"shared-timer", "pump.timed_on_register",
       "the register that times an outlet also times or switches another outlet of its board",
       ask::shared_timer},
      {"timer-as-loss", "pump.communication_loss_register",
       "communication_loss_register is an outlet's timer or switch", ask::timer_as_loss},
      {"feedback-of-another", "pump.feedback_address",
       "an outlet's feedback is read where another outlet is switched or read",
       ask::feedback_of_another},
      {"one-register", "temperature.address", "pH and temperature are read from one register",
       ask::one_register},
      {"probe-at-outlet", "ph.address",
       "a probe is read at a register that switches, times or ends an outlet",
       ask::probe_at_outlet},
      {"second-probe", "second_ph", "the second pH probe is the first one", ask::second_probe},
      {"shared-probe", "ph.address", "a pH probe of the station is that of another station",
       ask::shared_probe},
      {"register-numbers", "ph.address",
       "an address looks like a number of a device's manual, 10001, 30001 or 40001, which is not "
       "what goes over the wire",
       ask::register_numbers},
      {"word-order", "ph.word_order", "word_order stands beside an encoding of 16 bits",
       ask::word_order},
      {"ph-scale", "ph.scale",
       "the encoding, scale and offset of a pH probe can't give pH 7 to 9 in steps of 0.1",
       ask::ph_scale},
      {"temperature-scale", "temperature.scale",
       "those of the temperature can't give 20 to 30 °C in steps of a degree",
       ask::temperature_scale},
      {"slow-line", "ph.bus",
       "a round of the probes' serial line takes more than the 200 ms in which the pH is wanted "
       "while "
       "the pump runs",
       ask::slow_line},
      {"reply-timeout", "ph.bus",
       "reply_timeout_ms is shorter than a probe's answer takes on its serial line",
       ask::reply_timeout},
      {"mqtt-files", "mqtt",
       "password_file or ca_file of [mqtt] is missing, is no file, or can't be read by the "
       "service's user",
       ask::mqtt_files},
      {"deliver-files", "deliver",
       "a file of [deliver] is missing, is no file, or can't be read by the service's user",
       ask::deliver_files},
      {"page-files", "page",
       "token_file of [page] is missing, is no file, or can't be read by the service's user",
       ask::page_files},
  };
  return rows;
}

std::vector<std::string> station_question_ids() { return ids_of<QuestionRow::OfStation>(); }
std::vector<std::string> daemon_question_ids() { return ids_of<QuestionRow::OfDaemon>(); }

Questions questions_of(const Config& config) {
  Questions questions;
  for (const Station& station : config.stations) {
    const Answers answers{"the [[station]] named " + station.settings.name,
                          "station." + station.settings.name + ".", station.confirmed};
    for (const QuestionRow& row : question_rows()) {
      if (const auto* asks = std::get_if<QuestionRow::OfStation>(&row.asks)) {
        note(row, (*asks)(config, station), answers, questions);
      }
    }
  }
  const Answers answers{"[daemon]", "", config.confirmed};
  for (const QuestionRow& row : question_rows()) {
    if (const auto* asks = std::get_if<QuestionRow::OfDaemon>(&row.asks)) {
      note(row, (*asks)(config), answers, questions);
    }
  }
  return questions;
}

}  // namespace limegate::config
