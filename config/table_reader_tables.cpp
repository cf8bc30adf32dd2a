// The tables below a table.

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "config/nearest.h"
#include "config/table_reader.h"

namespace limegate::config {
namespace {

const toml::table& empty_table() {
  static const toml::table empty;
  return empty;
}

using Kind = AskedKey::Kind;

}  // namespace

const toml::node* TableReader::misspelt(std::string_view key, toml::node_type type) {
  for (const auto& [name, node] : *table_) {
    const std::string other{name.str()};
    const bool alike = node.is_table() ? type == toml::node_type::table
                                       : node.is_array() && type == toml::node_type::array;
    // One letter, however short the name: "ph" is no "plan".
    if (!is_asked(other) && alike &&
        edit_distance(other, key) <= std::max<std::size_t>(1, key.size() / 4)) {
      asked_.push_back(other);
      complain(other, meant(std::string{key}));
      return &node;
    }
  }
  return nullptr;
}

TableReader TableReader::table(std::string_view key) {
  const toml::node* node = find(key);
  if (node == nullptr) {
    node = misspelt(key, toml::node_type::table);
  }
  const bool there = node != nullptr && node->is_table();
  if (node != nullptr && !there) {
    complain(key, fmt::format("must be a table, written as [{}{}{}]", table_name_,
                              table_name_.empty() ? "" : ".", key));
  }
  TableReader reader =
      below(key, Kind::table, there ? *node->as_table() : empty_table(), name_of(key));
  if (!there) {
    using Told = Absent::Told;
    reader.absent_ = Absent{line_of(key), node == nullptr ? Told::no : Told::yes};
  }
  return reader;
}

TableReader TableReader::below(std::string_view key, AskedKey::Kind kind, const toml::table& table,
                               std::string path) {
  if (noted_ != nullptr) {
    AskedKey noted = asked(key, kind);
    noted.table = table_name_;
    noted_->push_back(std::move(noted));  // each, so that whoever reads the notes can count them
  }
  TableReader reader{table, std::move(path), *problems_, noted_};
  reader.table_name_ =
      table_name_.empty() ? std::string{key} : table_name_ + "." + std::string{key};
  return reader;
}

std::vector<TableReader> TableReader::tables(std::string_view key) {
  std::vector<TableReader> readers;
  std::vector<const toml::node*> nodes;
  if (const toml::node* node = find(key)) {
    nodes.push_back(node);
  }
  while (const toml::node* node = misspelt(key, toml::node_type::array)) {
    nodes.push_back(node);
  }
  std::vector<const toml::table*> all;
  for (const toml::node* node : nodes) {
    const toml::array* array = node->as_array();
    if (array == nullptr || !array->is_homogeneous(toml::node_type::table)) {
      if (nodes.size() == 1) {  // else it is what stands below the misspelt one
        complain(key, "must be written as [[" + std::string{key} + "]], once for each");
      }
      return readers;
    }
    for (const toml::node& element : *array) {
      all.push_back(element.as_table());
    }
  }
  // More is a file that something else wrote, and a complaint for each helps nobody.
  constexpr std::size_t most = 200;
  if (all.size() > most) {
    complain(key, fmt::format("stands {} times, and {} at most are read: take the others out",
                              all.size(), most));
    return readers;
  }
  for (const toml::table* table : all) {
    readers.push_back(
        below(key, Kind::tables, *table, fmt::format("{}[{}]", key, readers.size() + 1)));
  }
  return readers;
}

}  // namespace limegate::config
