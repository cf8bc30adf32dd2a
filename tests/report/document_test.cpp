// The page is well-formed XML whatever stands in it, by the parser of Python's standard library
// (expat), and asks nothing of any network.

#include "report/document.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "support/program.h"

namespace limegate::report {
namespace {

using testing::HasSubstr;
using testing::Not;

/// What the parser says: the text of the page, or why it is none.
test::Ran parsed(const std::string& page) {
  const test::TempDir folder;
  const std::string file = folder.path() + "/page.html";
  test::write_file(file, page);
  return test::run_program({"/usr/bin/python3", "-c",
                            "import sys, xml.etree.ElementTree as tree\n"
                            "root = tree.parse(sys.argv[1]).getroot()\n"
                            "print(root.tag); print(''.join(root.itertext()))",
                            file});
}

TEST(Text, is_shown_as_it_is) {
  EXPECT_EQ(text("a <b> & \"c\"").xml, "a &lt;b&gt; &amp; &quot;c&quot;");
  EXPECT_EQ(text("25.5 °C, größer\n").xml, "25.5 °C, größer\n");
}

TEST(Text, replaces_what_no_page_can_hold) {
  EXPECT_EQ(text(std::string{"a\0b\x1b[0m\xff", 8}).xml, "a\uFFFDb\uFFFD[0m\uFFFD");
  EXPECT_EQ(text("\xEF\xBF\xBF\xEF\xBF\xBE!").xml, "\uFFFD\uFFFD!") << "no characters";
  EXPECT_EQ(text("\xED\xA0\x80").xml.find('\xED'), std::string::npos) << "half of a pair";
}

TEST(Table, without_rows_says_so) {
  EXPECT_EQ(table({{"hold"}, {}, "Nothing held."}).xml, "<p>Nothing held.</p>\n");
}

TEST(Page, is_well_formed_whatever_stands_in_it) {
  std::string every;
  for (int byte = 0; byte < 256; ++byte) {
    every += static_cast<char>(byte);
  }
  const Document page{every,
                      "</p>]]><!-- --><?php &nosuch;",
                      {{every, list({every, "two"})},
                       {"table", table({{every, "b"}, {{text(every), text("1")}}, ""})},
                       {"pairs", table({{}, {{text("name"), text("<i>")}}, ""})}}};
  const auto ran = parsed(page_of(page));
  EXPECT_EQ(ran.code, 0) << ran.output;
  EXPECT_THAT(ran.output, HasSubstr("{http://www.w3.org/1999/xhtml}html"));
  EXPECT_THAT(ran.output, HasSubstr("</p>]]><!-- --><?php &nosuch;"));
}

TEST(Page, needs_nothing_else_and_runs_nothing) {
  const std::string page = page_of({"t", "l", {{"h", paragraph("p")}}});
  for (const char* reaching : {"<script", "src=", "href=", "url(", "@import", "style=\""}) {
    EXPECT_THAT(page, Not(HasSubstr(reaching)));
  }
  EXPECT_THAT(page, HasSubstr("size: A4"));
  EXPECT_THAT(page, HasSubstr("strongly caustic"));
}

}  // namespace
}  // namespace limegate::report
