#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace limegate::report {

/// A piece of a page that is well-formed XML, or several beside each other. Only what escapes makes
/// one of a text.
struct Markup {
  std::string xml;
};

/// Text that a page shows as it is, whatever is in it: what is no UTF-8 and what XML can't hold
/// becomes U+FFFD. Source: XML 1.0, sections 2.2 (characters) and 2.4.
[[nodiscard]] Markup text(std::string_view words);

/// A paragraph of text.
[[nodiscard]] Markup paragraph(std::string_view words);
/// A list of sentences.
[[nodiscard]] Markup list(const std::vector<std::string>& sentences);

/// Rows of cells, as many in each as the head has.
struct Table {
  std::vector<std::string> head;  ///< empty: the first cell of each row is its head
  std::vector<std::vector<Markup>> rows;
  std::string none;  ///< what is said where there is no row
};
[[nodiscard]] Markup table(const Table& content);

}  // namespace limegate::report
