#pragma once

#include <string>

#include "mqtt/settings.h"

namespace limegate::mqtt {

/// Finds out why no TLS connection comes about, by one handshake of its own: paho says only that
/// it failed. Nothing is sent over it. One half sentence: "its certificate is refused: certificate
/// has expired". Blocks, ten seconds at most (beside the name lookup).
[[nodiscard]] std::string tls_diagnosis(const Settings& settings);

}  // namespace limegate::mqtt
