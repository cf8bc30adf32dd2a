#pragma once

#include <chrono>
#include <optional>
#include <string>

#include <nlohmann/json.hpp>
#include <tl/expected.hpp>

namespace limegate::web {

/// The other end of the control socket, for the command line. Blocks, with a time limit.
class ControlClient {
 public:
  enum class Fault {
    nobody_there,  ///< no daemon listens at this path
    forbidden,     ///< this user may not use it
    broken         ///< it listens, and does not answer as it should
  };
  struct Failure {
    Fault fault;
    std::string sentence;
  };
  template <class T>
  using Result = tl::expected<T, Failure>;

  using Deadline = std::chrono::steady_clock::time_point;
  /// Without a deadline each wait lasts 10 s at most; with one they all end by then.
  [[nodiscard]] static Result<ControlClient> connect(const std::string& path,
                                                     std::optional<Deadline> by = {});
  ~ControlClient();
  ControlClient(ControlClient&& other) noexcept;
  ControlClient& operator=(ControlClient&&) = delete;
  ControlClient(const ControlClient&) = delete;
  ControlClient& operator=(const ControlClient&) = delete;

  /// Sends a request and returns its result.
  [[nodiscard]] Result<nlohmann::json> ask(const std::string& method, const nlohmann::json& params);
  void answer_by(Deadline by) { by_ = by; }
  /// The next result of a request that brings more than one.
  [[nodiscard]] Result<nlohmann::json> next();

 private:
  explicit ControlClient(int socket) : socket_(socket) {}
  void limit_wait(int direction) const;

  int socket_;
  std::optional<Deadline> by_;
  std::string incoming_;
};

}  // namespace limegate::web
