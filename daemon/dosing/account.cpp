#include "dosing/account.h"

#include <algorithm>

namespace limegate::dosing {
namespace {

constexpr std::array<Duration, 2> kWindows{std::chrono::hours{1}, std::chrono::hours{24}};

}  // namespace

Duration age(Stamp then, Stamp now) {
  return std::max(now.lifetime - then.lifetime, Duration::zero());
}

void Account::add(const Dose& dose) {
  const auto known = std::find_if(doses_.rbegin(), doses_.rend(),
                                  [&](const Dose& mine) { return mine.id == dose.id; });
  if (known != doses_.rend() && dose.id > 0) {
    known->volume = std::max(known->volume, dose.volume);
    known->end = known->end.lifetime < dose.end.lifetime ? dose.end : known->end;
  } else {
    doses_.push_back(dose);
  }
  newest_id_ = std::max(newest_id_, dose.id);
  sums_known_ = false;
}

void Account::revise(std::int64_t id, Millilitres volume) {
  for (Dose& dose : doses_) {
    if (dose.id == id) {
      dose.volume = volume;
    }
  }
  sums_known_ = false;
}

void Account::merge(const Dose& dose) {
  const auto known = std::find_if(doses_.begin(), doses_.end(),
                                  [&](const Dose& mine) { return mine.id == dose.id; });
  if (known == doses_.end()) {
    add(dose);
  } else {
    known->volume = std::max(known->volume, dose.volume);
    sums_known_ = false;
  }
}

const Account::Sums& Account::sums(Stamp now) const {
  if (sums_known_ && now.lifetime >= sums_valid_from_ && now.lifetime < sums_valid_until_) {
    return sums_;
  }
  sums_ = {};
  sums_valid_from_ = now.lifetime;
  sums_valid_until_ = now.lifetime + kWindows[0];
  for (const Dose& dose : doses_) {
    const Duration dose_age = age(dose.end, now);
    for (std::size_t i = 0; i < kWindows.size(); ++i) {
      if (dose_age < kWindows[i]) {
        sums_[i] += dose.volume;
        sums_valid_until_ =
            std::min(sums_valid_until_, std::max(dose.end.lifetime + kWindows[i], now.lifetime));
      }
    }
  }
  sums_known_ = true;
  return sums_;
}

void Account::prune(Stamp now) {
  std::erase_if(doses_, [&](const Dose& dose) { return age(dose.end, now) >= kWindows[1]; });
  sums_known_ = false;
}

}  // namespace limegate::dosing
