// The daemon's own device: the root of the tree.

#include "mqtt/discovery.h"
#include "mqtt/image.h"
#include "mqtt/payload.h"
#include "mqtt/property.h"
#include "units/iso8601.h"

namespace limegate::mqtt {
namespace {

using station::Overview;
using Row = Property<Overview>;
using Access = Row::Access;

constexpr Row kRows[] = {
    {"daemon", "version", "Version of Limegate", "string", "", "", Access::shown,
     sensor("Version").diagnostic(),
     [](const Overview&) { return std::optional<std::string>{LIMEGATE_VERSION}; }},
    {"daemon", "started", "Started (UTC)", "datetime", "", "", Access::shown,
     moment("Started").diagnostic(),
     [](const Overview& now) { return std::optional{iso8601(now.started)}; }},
    {"daemon", "time", "Last sign of life (UTC)", "datetime", "", "", Access::shown,
     moment("Last sign of life").diagnostic(),
     [](const Overview& now) { return std::optional{iso8601(now.at.wall)}; }},
    {"daemon", "stations", "Number of stations", "integer", "", "", Access::shown,
     sensor("Stations").diagnostic(),
     [](const Overview& now) { return std::optional{std::to_string(now.stations.size())}; }},
    {"events", "last", "Last that happened to the daemon itself", "json", "", "", Access::shown,
     happened("Last event"),
     [](const Overview& now) { return std::optional{event_object(now.last_event)}; }},
    {"alerts", "list", "Alerts of the daemon itself", "json", "", "", Access::shown,
     count("Alerts"), [](const Overview& now) { return std::optional{alert_list(now.alerts)}; }},
    {"alerts", "unseen", "Alerts that nobody has seen", "integer", "0:", "", Access::shown,
     problem("Unseen alerts").on_show(),
     [](const Overview& now) { return std::optional{unseen_count(now.alerts)}; }},
    {"alerts", kMessageProperty, "Messages to people, as CloudEvents", "json", "", "", Access::news,
     untold(), nullptr},
    {"keeper", "acknowledge", "Acknowledge an alert by its id, or all", "string", "", "",
     Access::command, button("Acknowledge all alerts").on_show(), nullptr},
    {"keeper", "refused", "Last command to it that was refused", "json", "", "", Access::shown,
     refusal("Last refusal"),
     [](const Overview& now) { return std::optional{refusal_object(now.refused)}; }},
};

}  // namespace

std::string root_description(const std::vector<std::string>& children) {
  return versioned({{"homie", "5.0"},
                    {"name", "Limegate"},
                    {"type", "limewater-daemon/1"},
                    {"children", children},
                    {"nodes", nodes_of(kRows, [](const Row& row) { return row.format; }, {})}});
}

std::vector<Message> root_documents(const Settings& settings) {
  return documents_of(kRows, settings, {settings.device, "Limegate", "limewater daemon"},
                      [](const Row& row) { return row.format; }, {});
}

std::vector<Value> root_values(const Overview& overview) { return values_of(kRows, overview); }

}  // namespace limegate::mqtt
