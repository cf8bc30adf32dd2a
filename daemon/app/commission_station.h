#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>
#include <tl/expected.hpp>

#include "app/asking.h"
#include "app/book_asked.h"
#include "care/book.h"
#include "care/commission.h"
#include "care/commission_words.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::app {

/// The station that is commissioned, asked through its running daemon. Errors: the ExitCode, once
/// it was said why.
class CommissionStation {
 public:
  [[nodiscard]] static tl::expected<CommissionStation, int> reach(const Meant& meant);

  /// Everything that steps hang on, as of one moment.
  struct Shown {
    care::Book book;  ///< what stands, in the order of its writing
    care::StationSays says;
    WallTime now;
    Millilitres day_volume;  ///< as asked for
    bool run_under_way = false;
    std::optional<Duration> ran;  ///< the pump in the newest attended run
    std::optional<Ph> shown_ph;   ///< the newest sample, whatever it is worth
    WallTime shown_at;            ///< its time

    [[nodiscard]] bool holds(std::string_view code) const;
  };
  [[nodiscard]] tl::expected<Shown, int> look();
  /// Looks again and again until `done`.
  [[nodiscard]] tl::expected<Shown, int> watch(const std::function<bool(const Shown&)>& done);

  /// Sends a keeper's command and says what came of it; whether it was accepted.
  [[nodiscard]] tl::expected<bool, int> command(const char* method,
                                                nlohmann::json params = nlohmann::json::object());
  enum class Sure { no, yes };
  /// Writes into the book, and waits until it is on the disk; whether it was accepted.
  [[nodiscard]] tl::expected<bool, int> record(const care::Written& row, Sure sure = Sure::no);
  [[nodiscard]] tl::expected<bool, int> record(const care::StepTaken& taken);

  [[nodiscard]] const care::Plant& plant() const { return plant_; }
  [[nodiscard]] const std::string& name() const { return daemon_.station; }
  /// The most that one attended run may give.
  [[nodiscard]] Millilitres run_most() const { return run_most_; }
  [[nodiscard]] bool stirs_itself() const { return stirs_itself_; }

 private:
  CommissionStation(Meant meant, Reached daemon, const config::Station& station);

  Meant meant_;
  Reached daemon_;
  care::Plant plant_;
  Millilitres run_most_;
  bool stirs_itself_;  ///< the stirrer is switched from here
};

}  // namespace limegate::app
