#pragma once

namespace limegate::config {

/// A valid file of our own scenario; each row of the tables breaks it in one place.
constexpr const char* kGood = R"([daemon]
state_dir = "state"
[[bus]]
name = "panel"
type = "modbus-tcp"
host = "127.0.0.1"
[[station]]
name = "reef"
water_volume_l = 400
evaporation_ml_per_day = 4000
reactor_bore_mm = 100
[station.ph]
bus = "panel"
unit = 1
address = 0
scale = 0.01
[station.temperature]
bus = "panel"
unit = 1
address = 10
scale = 0.1
[station.pump]
bus = "panel"
unit = 2
address = 0
timed_on_register = 10
rate_ml_per_min = 50
rate_measured = 2026-11-20
[station.stirrer]
bus = "panel"
unit = 2
address = 1
timed_on_register = 11
[station.plan]
day_volume_ml = 2000
[station.limits]
settle_min = 60
)";

}  // namespace limegate::config
