#include "shell/second_copy.h"

namespace limegate::shell {

std::optional<station::SecondCopy> second_copy_of(const std::optional<guard::Record>& record) {
  if (!record) {
    return std::nullopt;
  }
  station::SecondCopy copy;
  copy.newest_sent = record->newest_pulse_id;
  if (record->kept) {
    copy.kept.emplace();
    copy.kept->latches = record->kept->latches;
    for (const guard::Kept::Wish& wish : record->kept->wishes) {
      copy.kept->wishes.push_back({static_cast<station::Wish::What>(wish.what),
                                   wish.volume,
                                   wish.lasting,
                                   {wish.asked_lifetime, wish.asked_wall}});
    }
  }
  return copy;
}

guard::Kept::Wish kept_of(const station::Wish& wish) {
  return {static_cast<int>(wish.what), wish.volume, wish.lasting, wish.asked.lifetime,
          wish.asked.wall};
}

guard::Kept kept_of(const station::History& history) {
  guard::Kept kept;
  kept.latches = history.latches;
  for (const station::Wish& wish : history.wishes) {
    kept.wishes.push_back(kept_of(wish));
  }
  return kept;
}

}  // namespace limegate::shell
