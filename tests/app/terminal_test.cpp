// What a terminal has room for.

#include "app/terminal.h"

#include <gtest/gtest.h>

namespace limegate::app {
namespace {

TEST(Terminal, lines_break_between_words_and_go_on_below_their_begin) {
  EXPECT_EQ(wrapped("  pH 8.15 good   temperature 25.4\nnext\n", 20),
            "  pH 8.15 good\n    temperature 25.4\nnext\n");
  EXPECT_EQ(wrapped("    - one two", 9), "    - one\n      two");
}

TEST(Terminal, a_line_that_fits_stays_as_it_is) {
  const std::string line = "  pH 8.15 good   temperature 25.4 °C good";
  EXPECT_EQ(wrapped(line, 41), line) << "a degree sign is one column";
  EXPECT_NE(wrapped(line, 40), line);
  EXPECT_EQ(wrapped("", 80), "");
  EXPECT_EQ(wrapped("\n\n", 80), "\n\n");
  EXPECT_EQ(wrapped("   ", 2), "   ");
}

TEST(Terminal, a_word_is_never_split) {
  EXPECT_EQ(wrapped("a longerthanfour b", 4), "a\n  longerthanfour\n  b");
  EXPECT_EQ(wrapped("longerthanfour", 0), "longerthanfour");
}

TEST(Terminal, what_does_not_fit_is_counted) {
  EXPECT_EQ(fitted("a\nb\nc\n", {80, 3}), "a\nb\nc\n");
  EXPECT_EQ(fitted("a\nb\nc\nd\n", {80, 3}), "a\nb\n... and 2 lines more.\n");
  EXPECT_EQ(fitted("aa bb\ncc\n", {4, 2}), "aa\n... and 2 lines more.\n") << "counted as wrapped";
  EXPECT_EQ(fitted("a\nb\n", {80, 1}), "... and 2 lines more.\n");
  EXPECT_EQ(fitted("a\nb\n", {80, 0}), "... and 2 lines more.\n");
}

}  // namespace
}  // namespace limegate::app
