#include "journal/book_store.h"

#include <optional>
#include <string>
#include <utility>

#include "journal/book_rows.h"
#include "journal/stored_row.h"
#include "journal/stored_units.h"
#include "station/keepers_book.h"

namespace limegate::journal {

Stored<std::vector<station::BookEntry>> BookStore::read(std::string_view station) const {
  std::vector<station::BookEntry> entries;
  const auto statement = select<BookRow>(database_, " WHERE station = ?1 ORDER BY number");
  statement->bind(station);
  auto more = statement->next();
  for (; more && *more; more = statement->next()) {
    auto [row, sound] = row_from<BookRow>(*statement);
    if (sound) {
      entries.push_back(
          {row.number,
           {duration_of(row.entered_lifetime_ms), wall_of(row.entered_wall_ms)},
           {wall_of(row.at_wall_ms), row.what, row.value, row.unit, row.kit},
           row.undone_wall_ms ? std::optional{wall_of(*row.undone_wall_ms)} : std::nullopt});
    }
  }
  return more ? Stored<std::vector<station::BookEntry>>{std::move(entries)}
              : tl::unexpected(more.error());
}

Stored<void> BookStore::keep(std::string_view station, const station::BookEntry& entry) const {
  constexpr auto most = static_cast<std::int64_t>(station::KeepersBook::kEntriesMost);
  if (auto done = database_.prepare("DELETE FROM book WHERE station = ?1 AND number <= ?2")
                      ->bind(station, entry.number - most)
                      .run();
      !done) {
    return done;
  }
  const care::Written& row = entry.row;
  return store(database_,
               BookRow{std::string{station}, entry.number, ms(row.at), row.what, row.value,
                       row.unit, row.kit, ms(entry.entered.lifetime), ms(entry.entered.wall),
                       entry.undone ? std::optional{ms(*entry.undone)} : std::nullopt});
}

}  // namespace limegate::journal
