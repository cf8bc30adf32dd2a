#include "units/shown_text.h"

#include <string>

#include <gtest/gtest.h>

namespace limegate {
namespace {

TEST(ShownText, of_letters_of_any_script_shows_as_it_is) {
  for (const char* text : {"", "reef", "25.5 °C", "10 µm", "漢字", "\U0001f420", "~", "a b"}) {
    EXPECT_TRUE(shows_as_it_is(text)) << text;
  }
}

TEST(ShownText, with_control_characters_does_not) {
  for (const std::string& text :
       {std::string{"a\nb"}, std::string{"a\tb"}, std::string{"a\rb"}, std::string{"\x1b[31m"},
        std::string{"a\x7f"}, std::string{"a\0b", 3}, std::string{"\u0080"},
        std::string{"\u009f"}}) {
    EXPECT_FALSE(shows_as_it_is(text)) << text;
  }
  EXPECT_TRUE(shows_as_it_is("\u00a0")) << "the first that is none";
}

TEST(ShownText, that_turns_its_direction_does_not) {
  for (const char* text :
       {"\u061c", "\u200e", "\u200f", "\u202a", "\u202e1.0.0.721", "\u2066", "\u2069", "\u2028"}) {
    EXPECT_FALSE(shows_as_it_is(text)) << text;
  }
  for (const char* text : {"\u200d", "\u2027", "\u202f", "\u2065", "\u206a"}) {
    EXPECT_TRUE(shows_as_it_is(text)) << text;
  }
}

}  // namespace
}  // namespace limegate
