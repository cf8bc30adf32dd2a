#pragma once

#include <cstddef>
#include <mutex>
#include <string>
#include <string_view>
#include <unordered_set>
#include <vector>

namespace limegate::mqtt {

/// What the broker says of the hub that reads the discovery documents: that it came back, and which
/// documents of an earlier life are still kept. It is judged in the thread that receives it.
/// Threads: any.   Memory: bounded.
class HubMail {
 public:
  /// Documents lie below `prefix`/COMPONENT/`root`/.
  HubMail(std::string prefix, std::string root, std::string birth_topic);

  /// Takes a message if it is about discovery. False: it is for somebody else.
  [[nodiscard]] bool offer(std::string_view topic, std::string_view payload, bool retained);
  /// Documents that are meant to be there; whatever else the broker kept is left over.
  void expect(std::unordered_set<std::string> topics);

  struct Taken {
    bool born = false;                   ///< the hub came back
    std::vector<std::string> left_over;  ///< topics of documents that should go
  };
  /// All since the last time.
  [[nodiscard]] Taken take();

 private:
  [[nodiscard]] bool is_document(std::string_view topic) const;

  const std::string prefix_, root_, birth_topic_;
  std::mutex mutex_;
  std::unordered_set<std::string> expected_;
  Taken waiting_;
};

}  // namespace limegate::mqtt
