#include "journal/book_store.h"

#include <cmath>
#include <optional>
#include <string>
#include <utility>

#include "journal/book_rows.h"
#include "journal/stored_row.h"
#include "journal/stored_units.h"
#include "station/keepers_book.h"

namespace limegate::journal {
namespace {

constexpr double kThousand = 1000.0;

BookBesideRow beside_of(std::string_view station, const station::BookEntry& entry) {
  BookBesideRow row{std::string{station}, entry.number, {}, {}};
  if (entry.given_before) {
    row.given_before_ul = microlitres(*entry.given_before);
  }
  if (entry.ph_shown) {
    row.ph_shown_thousandths = std::llround(entry.ph_shown->count() * kThousand);
  }
  return row;
}

}  // namespace

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
  auto done = more ? add_beside(station, entries) : tl::unexpected(more.error());
  return done ? Stored<std::vector<station::BookEntry>>{std::move(entries)}
              : tl::unexpected(done.error());
}

Stored<void> BookStore::add_beside(std::string_view station,
                                   std::vector<station::BookEntry>& entries) const {
  const auto statement = select<BookBesideRow>(database_, " WHERE station = ?1 ORDER BY number");
  statement->bind(station);
  auto more = statement->next();
  auto entry = entries.begin();
  for (; more && *more; more = statement->next()) {
    const auto [row, sound] = row_from<BookBesideRow>(*statement);
    while (entry != entries.end() && entry->number < row.number) {
      ++entry;
    }
    if (sound && entry != entries.end() && entry->number == row.number) {
      if (row.given_before_ul) {
        entry->given_before = volume_of(*row.given_before_ul);
      }
      if (row.ph_shown_thousandths) {
        entry->ph_shown = Ph{static_cast<double>(*row.ph_shown_thousandths) / kThousand};
      }
    }
  }
  return more ? Stored<void>{} : tl::unexpected(more.error());
}

Stored<void> BookStore::keep(std::string_view station, const station::BookEntry& entry) const {
  // A bound for the disk, and a wide one: the book itself says which of the old ones it keeps.
  constexpr auto most = static_cast<std::int64_t>(2 * station::KeepersBook::kEntriesMost);
  for (const std::string& old : {std::string{BookRow::kTable} + " WHERE what <> 'step' AND ",
                                 std::string{BookBesideRow::kTable} + " WHERE "}) {
    if (auto done = database_.prepare("DELETE FROM " + old + "station = ?1 AND number <= ?2")
                        ->bind(station, entry.number - most)
                        .run();
        !done) {
      return done;
    }
  }
  const care::Written& row = entry.row;
  // The entry last: with its row alone, what was known beside it would be lost.
  if (auto done = store(database_, beside_of(station, entry)); !done) {
    return done;
  }
  return store(database_,
               BookRow{std::string{station}, entry.number, ms(row.at), row.what, row.value,
                       row.unit, row.kit, ms(entry.entered.lifetime), ms(entry.entered.wall),
                       entry.undone ? std::optional{ms(*entry.undone)} : std::nullopt});
}

}  // namespace limegate::journal
