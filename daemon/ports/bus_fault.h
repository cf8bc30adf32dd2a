#pragma once

namespace limegate::ports {

/// Why a device did not give what was asked, split by what the caller must do.
enum class BusFault {
  timed_out,          ///< no (complete) answer in time: try again later
  corrupt_reply,      ///< an answer that is not believed: bad CRC, wrong unit, length or function
  refused_by_device,  ///< the device lives and said no: a wrong address or function in the config
  port_gone,          ///< the port can't be opened, or vanished
  backing_off,        ///< not asked: the device was silent lately and waits for its next try
};

}  // namespace limegate::ports
