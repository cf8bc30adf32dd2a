#pragma once

#include <optional>
#include <string>

#include "config/config.h"

/// The conditions of config/question.h's table, by what they look at. Each gives the sentence that
/// asks, or nothing. All but those of files are pure.
namespace limegate::config::ask {

using Sentence = std::optional<std::string>;

// site_questions.cpp
Sentence water_volume(const Config& config, const Station& station);
Sentence gallons(const Config& config, const Station& station);
Sentence evaporation(const Config& config, const Station& station);
Sentence reactor_bore(const Config& config, const Station& station);
Sentence pump_rate(const Config& config, const Station& station);
Sentence pump_share(const Config& config, const Station& station);
Sentence short_pulse(const Config& config, const Station& station);
Sentence long_pulse(const Config& config, const Station& station);
Sentence relay_life(const Config& config, const Station& station);
Sentence settle_time(const Config& config, const Station& station);
Sentence limits_at_bounds(const Config& config, const Station& station);
Sentence temperature_band(const Config& config, const Station& station);

// wiring_questions.cpp
Sentence shared_timer(const Config& config, const Station& station);
Sentence timer_as_loss(const Config& config, const Station& station);
Sentence feedback_of_another(const Config& config, const Station& station);
Sentence one_register(const Config& config, const Station& station);
Sentence probe_at_outlet(const Config& config, const Station& station);
Sentence second_probe(const Config& config, const Station& station);
Sentence shared_probe(const Config& config, const Station& station);
Sentence register_numbers(const Config& config, const Station& station);
Sentence word_order(const Config& config, const Station& station);
Sentence ph_scale(const Config& config, const Station& station);
Sentence temperature_scale(const Config& config, const Station& station);
Sentence reply_timeout(const Config& config, const Station& station);

// line_questions.cpp
Sentence slow_line(const Config& config, const Station& station);

// file_questions.cpp
Sentence mqtt_files(const Config& config);
Sentence deliver_files(const Config& config);
Sentence page_files(const Config& config);

}  // namespace limegate::config::ask
