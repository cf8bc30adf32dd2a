#pragma once

#include <cstddef>
#include <map>
#include <memory>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include "mqtt/hub_mail.h"
#include "mqtt/link.h"
#include "mqtt/mirror.h"
#include "mqtt/settings.h"
#include "units/time.h"

namespace limegate::mqtt {

/// The discovery documents that should stand on the broker beside those that were sent: the
/// difference is what is published next, and all of them again when the hub has come back.
/// Threads: one owner.   Memory: one entry a document.
class Announcer {
 public:
  /// For settings with a `discovery_prefix`.
  explicit Announcer(const Settings& settings);

  /// All documents of a device, known by a number of the caller's. One that was there before and is
  /// not now goes.
  void show(std::size_t device, const std::vector<Message>& documents);
  /// A new connection: nothing is known of what the broker has.
  void forget();
  /// What came from the broker, and what is due by now.
  void tick(Instant now);

  /// The next messages, at most so many; they count as sent.
  [[nodiscard]] std::vector<Message> take(std::size_t most);
  [[nodiscard]] bool settled() const { return settled_; }

  /// What must be heard, and who takes it, in whatever thread it comes.
  [[nodiscard]] std::vector<Link::Filter> filters() const;
  [[nodiscard]] std::shared_ptr<HubMail> mail() const { return mail_; }

 private:
  struct Document {
    std::optional<std::size_t> device;  ///< absent: left over from an earlier life
    std::string wanted;                 ///< empty: it should go
    std::optional<std::string> sent;
  };

  const std::string filter_, birth_topic_;
  const Duration jitter_max_;
  std::minstd_rand random_;
  std::shared_ptr<HubMail> mail_;
  std::map<std::string, Document> documents_;
  bool settled_ = true;
  std::optional<Instant> again_at_;
};

}  // namespace limegate::mqtt
