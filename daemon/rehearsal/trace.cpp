#include "rehearsal/trace.h"

#include <algorithm>

namespace limegate::rehearsal {
namespace {

void widen(Trace::Point& point, double ph, const std::optional<double>& shown_low,
           const std::optional<double>& shown_high) {
  point.ph_low = std::min(point.ph_low, ph);
  point.ph_high = std::max(point.ph_high, ph);
  if (shown_low) {
    point.shown_low = std::min(point.shown_low.value_or(*shown_low), *shown_low);
    point.shown_high = std::max(point.shown_high.value_or(*shown_high), *shown_high);
  }
}

}  // namespace

std::size_t Trace::index_of(const std::string& code) {
  const auto known = std::find(codes_.begin(), codes_.end(), code);
  if (known == codes_.end() && codes_.size() < kHoldsMax) {
    codes_.push_back(code);
    return codes_.size() - 1;
  }
  // There are places for all but those of very many rules of the owner's; the last takes the rest.
  return std::min(static_cast<std::size_t>(known - codes_.begin()), kHoldsMax - 1);
}

void Trace::halve() {
  for (std::size_t i = 0; i < points_.size(); i += 2) {
    Point merged = points_[i];
    if (i + 1 < points_.size()) {
      const Point& other = points_[i + 1];
      widen(merged, other.ph_low, other.shown_low, other.shown_high);
      widen(merged, other.ph_high, std::nullopt, std::nullopt);
      merged.delivered_ml += other.delivered_ml;
      merged.powder_g = other.powder_g;
      merged.alkalinity_dkh = other.alkalinity_dkh;
      merged.calcium_mg_l = other.calcium_mg_l;
      merged.stirred_s += other.stirred_s;
      for (std::size_t code = 0; code < kHoldsMax; ++code) {
        merged.held_s[code] += other.held_s[code];
      }
    }
    points_[i / 2] = merged;
  }
  points_.resize((points_.size() + 1) / 2);
  step_ *= 2;
}

void Trace::add(const Second& second) {
  if (points_.empty() || filled_s_ == step_.count()) {
    if (points_.size() == kPointsMax) {
      halve();
    }
    points_.emplace_back();
    filled_s_ = 0;
  }
  ++filled_s_;
  Point& point = points_.back();
  widen(point, second.ph, second.shown, second.shown);
  point.delivered_ml += second.delivered_ml;
  point.powder_g = second.powder_g;
  point.alkalinity_dkh = second.alkalinity_dkh;
  point.calcium_mg_l = second.calcium_mg_l;
  point.stirred_s += second.stirs ? 1U : 0U;
  if (second.holds != nullptr) {
    for (const rules::Hold& hold : *second.holds) {
      ++point.held_s[index_of(rules::code_of(hold))];
    }
  }
}

}  // namespace limegate::rehearsal
