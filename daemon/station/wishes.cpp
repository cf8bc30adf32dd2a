#include "station/wishes.h"

#include <algorithm>
#include <cmath>

namespace limegate::station {
namespace {

std::optional<Wish> find(const std::vector<Wish>& known, Wish::What what) {
  for (const Wish& wish : known) {
    if (wish.what == what) {
      return wish;
    }
  }
  return std::nullopt;
}

/// As it is written down: what is no whole microlitre would be another wish after a restart.
Millilitres whole_microlitres(Millilitres volume) {
  return Millilitres{std::round(volume.count() * 1000.0) / 1000.0 + 0.0};  // and no -0
}

}  // namespace

Wishes::Wishes(Millilitres in_file, const std::vector<Wish>& known, dosing::Stamp today,
               Instant now)
    : in_file_(in_file), day_volume_at_station_(in_file) {
  const auto file = find(known, Wish::What::volume_in_file);
  if (file && file->volume == whole_microlitres(in_file)) {
    volume_asked_ = file->asked;
    // What the record can't mean is not believed: a volume is never raised by a damaged row.
    if (const auto station = find(known, Wish::What::volume_at_station);
        station && station->volume >= Millilitres{0.0}) {
      day_volume_at_station_ = station->volume;
    }
    if (const auto afar = find(known, Wish::What::volume_from_afar);
        afar && afar->volume >= Millilitres{0.0} && afar->volume <= day_volume_at_station_) {
      from_afar_ = afar->volume;
    }
  }
  const auto until = [&](Wish::What what) -> std::optional<Instant> {
    const auto pause = find(known, what);
    if (!pause) {
      return std::nullopt;
    }
    // By observed uptime: a clock step does not end a pause early, and neither does a reboot.
    const Duration left = pause->lasting - dosing::age(pause->asked, today);
    return left > Duration::zero() ? std::optional{now + std::min(left, kPauseMax)} : std::nullopt;
  };
  if (const auto service = find(known, Wish::What::service)) {
    // What is over ends with the first step: the limewater settles then.
    service_until_ = until(Wish::What::service).value_or(now);
  }
  if (const auto away = find(known, Wish::What::away); away && away->volume >= Millilitres{0.0}) {
    const Duration left = away->lasting - dosing::age(away->asked, today);
    // What is over is so with the first step, which also tells it.
    away_ = {now + std::clamp(left, Duration::zero(), kAwayMax), away->volume};
  }
  station_pause_ = until(Wish::What::pause_at_station);
  afar_pause_ = until(Wish::What::pause_from_afar);
}

void Wishes::pause(Moments at, Duration lasting, Origin origin, Effects& effects) {
  const Duration bounded = std::clamp(lasting, Duration::zero(), kPauseMax);
  const bool station = origin == Origin::station;
  (station ? station_pause_ : afar_pause_) = at.now + bounded;
  Wish wish{station ? Wish::What::pause_at_station : Wish::What::pause_from_afar};
  wish.lasting = bounded;
  wish.asked = at.today;
  effects.emplace_back(StoreWish{wish});
}

void Wishes::serve(Moments at, Duration lasting, Effects& effects) {
  // Two people may be there: whoever says a shorter time ends nothing for the other.
  const Instant until = at.now + std::clamp(lasting, Duration::zero(), kPauseMax);
  service_until_ = std::max(service_until_.value_or(until), until);
  effects.emplace_back(
      StoreWish{Wish{Wish::What::service, {}, *service_until_ - at.now, at.today}});
}

void Wishes::served(Effects& effects) {
  service_until_.reset();
  effects.emplace_back(ForgetWish{Wish::What::service});
}

void Wishes::leave(Moments at, Duration lasting, Millilitres volume, Effects& effects) {
  volume_asked_ = at.today;
  away_ = {at.now + std::clamp(lasting, Duration::zero(), kAwayMax), whole_microlitres(volume)};
  effects.emplace_back(
      StoreWish{Wish{Wish::What::away, away_->volume, away_->until - at.now, at.today}});
}

void Wishes::come_back(dosing::Stamp today, Effects& effects) {
  volume_asked_ = today;
  away_.reset();
  effects.emplace_back(ForgetWish{Wish::What::away});
}

void Wishes::resume(Instant now, Origin origin, Effects& effects) {
  if (origin == Origin::station && service_until_) {
    service_until_ = std::min(*service_until_, now);
  }
  if (origin == Origin::station && station_pause_) {
    station_pause_.reset();
    effects.emplace_back(ForgetWish{Wish::What::pause_at_station});
  }
  if (afar_pause_) {
    afar_pause_.reset();
    effects.emplace_back(ForgetWish{Wish::What::pause_from_afar});
  }
}

std::optional<Instant> Wishes::paused_until(Origin origin) const {
  // Nothing is less than any moment.
  return origin == Origin::station ? std::max(station_pause_, service_until_) : afar_pause_;
}

std::optional<Instant> Wishes::paused_until() const {
  return std::max(paused_until(Origin::station), afar_pause_);
}

void Wishes::store_volume(Moments at, Wish::What what, Millilitres volume, Effects& effects) const {
  Wish wish{what};
  wish.volume = volume;
  wish.asked = at.today;
  effects.emplace_back(StoreWish{wish});
}

void Wishes::set_day_volume(Moments at, Millilitres volume, Origin origin, Effects& effects) {
  volume_asked_ = at.today;
  volume = whole_microlitres(volume);
  if (origin == Origin::station) {
    day_volume_at_station_ = volume;
    from_afar_.reset();
    // In this order, whichever row is the last that is written: it is the old volume or the new.
    store_volume(at, Wish::What::volume_at_station, volume, effects);
    effects.emplace_back(ForgetWish{Wish::What::volume_from_afar});
  } else {
    from_afar_ = std::min(volume, day_volume_at_station_);
    store_volume(at, Wish::What::volume_from_afar, *from_afar_, effects);
  }
  store_volume(at, Wish::What::volume_in_file, whole_microlitres(in_file_), effects);
}

void Wishes::restate(Moments at, Effects& effects) const {
  const auto pause = [&](Wish::What what, const std::optional<Instant>& until) {
    if (until && *until > at.now) {
      Wish wish{what};
      wish.lasting = *until - at.now;
      wish.asked = at.today;
      effects.emplace_back(StoreWish{wish});
    } else {
      effects.emplace_back(ForgetWish{what});
    }
  };
  const auto keep = [&](bool stands, const Wish& wish) {
    effects.push_back(stands ? Effect{StoreWish{wish}} : Effect{ForgetWish{wish.what}});
  };
  keep(service_until_.has_value(),
       {Wish::What::service,
        {},
        service_until_ ? std::max(*service_until_ - at.now, Duration::zero()) : Duration{},
        at.today});
  keep(away_.has_value(), {Wish::What::away, away_ ? away_->volume : Millilitres{},
                           away_ ? away_->until - at.now : Duration{}, at.today});
  pause(Wish::What::pause_at_station, station_pause_);
  pause(Wish::What::pause_from_afar, afar_pause_);
  if (from_afar_) {
    store_volume(at, Wish::What::volume_from_afar, *from_afar_, effects);
  } else {
    effects.emplace_back(ForgetWish{Wish::What::volume_from_afar});
  }
  // Also what is the file's again: the ledger may know of another.
  if (volume_asked_) {
    store_volume(at, Wish::What::volume_at_station, day_volume_at_station_, effects);
    store_volume(at, Wish::What::volume_in_file, whole_microlitres(in_file_), effects);
  }
}

}  // namespace limegate::station
