#pragma once

#include <string>

namespace limegate::test {

// Where things lie on this machine. Only one generated file knows it, so that every other one
// compiles to the same bytes in any folder.

[[nodiscard]] std::string source_dir();         ///< the top of the tree
[[nodiscard]] std::string data_dir();           ///< tests/data
[[nodiscard]] std::string limegate_path();      ///< the built program
[[nodiscard]] std::string bench_daemon_path();  ///< the same daemon on a clock that a test shares
[[nodiscard]] std::string floor_path();         ///< what benchmarks compare with

}  // namespace limegate::test
