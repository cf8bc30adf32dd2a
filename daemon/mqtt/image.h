#pragma once

#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "station/status.h"

namespace limegate::mqtt {

/// Of the daemon's own device, below `alerts`: messages to people, as CloudEvents 1.0 in JSON.
constexpr const char* kMessageProperty = "message";

/// Properties of a device, each as "node/property".
using Paths = std::set<std::string>;

/// A value of a device as it should stand on the broker.
struct Value {
  const char* node;
  std::string property;
  /// Empty = there is no such value now. Absent = whatever was shown last stays: a bad probe's.
  std::optional<std::string> payload;
};

/// A whole device of the tree as it should stand on the broker, but for its `$state`.
struct Image {
  std::string description;
  std::vector<Value> values;  ///< always the same ones in the same order
  std::vector<std::pair<std::string, std::string>> alerts;  ///< id, sentence
};

/// The daemon's own device: the root of the tree. Its id stands for all below it.
/// A description is a JSON document; its version changes whenever anything else in it does.
[[nodiscard]] std::string root_description(const std::vector<std::string>& children);
[[nodiscard]] std::vector<Value> root_values(const station::Overview& overview);

/// A station's device, a child of the root. The description depends on the station's name, on the
/// day's volume as set at the station, and on the properties that it leaves out.
[[nodiscard]] std::string station_description(const std::string& root,
                                              const station::Status& status,
                                              const Paths& without = {});
/// Whether each probe and each input has said something: what is missing then comes much later.
[[nodiscard]] bool has_begun(const station::Status& status);
[[nodiscard]] std::vector<Value> station_values(const station::Status& status);

/// Alerts as `$alert` shows them.
[[nodiscard]] std::vector<std::pair<std::string, std::string>> shown(
    const std::vector<station::Alert>& alerts);

/// What must be published at once when it changes, as one text to compare: everything but measured
/// values and sentences that count down.
[[nodiscard]] std::string urgent_part(const station::Status& status);
[[nodiscard]] std::string urgent_part(const std::vector<station::Alert>& alerts);
[[nodiscard]] std::string urgent_part(const std::optional<station::Refusal>& refused);

}  // namespace limegate::mqtt
