#pragma once

#include "mqtt/link.h"
#include "mqtt/settings.h"

namespace limegate::mqtt {

/// Finds out why no TLS connection comes about, by one handshake of its own: paho says only that
/// it failed. Nothing is sent over it. Refused: by a certificate, the broker's or ours to check it
/// with. Blocks, ten seconds at most (beside the name lookup).
[[nodiscard]] Failure tls_diagnosis(const Settings& settings);

}  // namespace limegate::mqtt
