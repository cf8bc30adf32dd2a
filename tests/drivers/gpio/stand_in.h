#pragma once

namespace limegate::test {

/// Stands in for libgpiod's view of one chip, where no kernel offers a real or simulated one.
/// Threads: one.
class StandInChip {
 public:
  static constexpr const char* kPath = "/dev/stand-in";

  StandInChip();  ///< without lines
  void set(unsigned line, bool high);
  void used_by_others(unsigned line, bool used);
  void plug(bool in);
  [[nodiscard]] int opened() const;  ///< times
};

}  // namespace limegate::test
