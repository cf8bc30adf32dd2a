#pragma once

namespace limegate::mqtt {

/// What a discovery document says of a property beyond its description. Classes and templates are
/// those of the discovery convention; a template makes one payload of another.
struct Entity {
  /// none: not told, because nothing of it is retained and nothing can be set.
  enum class Component { none, sensor, binary_sensor, toggle, number, button } component;
  const char* name;  ///< short, and the only one of its device; the device's stands before it
  const char* device_class = "";
  const char* state_class = "";
  int precision = -1;  ///< decimals; below zero: none are named
  const char* value_template = "";
  const char* category = "";
  const char* quality = "";  ///< property of the same node that says "bad"; "" = none does
  bool enabled = false;      ///< shown without being asked for

  [[nodiscard]] constexpr Entity of(const char* its_class) const {
    Entity changed = *this;
    changed.device_class = its_class;
    return changed;
  }
  [[nodiscard]] constexpr Entity measured(int decimals) const {
    Entity changed = *this;
    changed.state_class = "measurement";
    changed.precision = decimals;
    return changed;
  }
  /// Of a sum that only rises; where it falls, it began anew.
  [[nodiscard]] constexpr Entity rising(int decimals) const {
    Entity changed = *this;
    changed.state_class = "total_increasing";
    changed.precision = decimals;
    return changed;
  }
  [[nodiscard]] constexpr Entity to(int decimals) const {
    Entity changed = *this;
    changed.precision = decimals;
    return changed;
  }
  [[nodiscard]] constexpr Entity read_by(const char* its_template) const {
    Entity changed = *this;
    changed.value_template = its_template;
    return changed;
  }
  /// Its topic may be cleared: the hub must not go on showing what was there before.
  [[nodiscard]] constexpr Entity or_none() const {
    return read_by("{{ value if value else 'None' }}");
  }
  [[nodiscard]] constexpr Entity unless_bad(const char* its_quality) const {
    Entity changed = *this;
    changed.quality = its_quality;
    return changed;
  }
  [[nodiscard]] constexpr Entity diagnostic() const {
    Entity changed = *this;
    changed.category = "diagnostic";
    return changed;
  }
  [[nodiscard]] constexpr Entity setting() const {
    Entity changed = *this;
    changed.category = "config";
    return changed;
  }
  [[nodiscard]] constexpr Entity on_show() const {
    Entity changed = *this;
    changed.enabled = true;
    return changed;
  }
};

constexpr Entity untold() { return {Entity::Component::none, ""}; }
constexpr Entity sensor(const char* name) { return {Entity::Component::sensor, name}; }
/// What a probe shows, as long as the property `quality` beside it does not call it bad.
constexpr Entity probe(const char* name, const char* its_class, int decimals) {
  return sensor(name).of(its_class).measured(decimals).or_none().unless_bad("quality").on_show();
}
constexpr Entity moment(const char* name) { return sensor(name).of("timestamp"); }
/// A text may be longer than a hub takes (255 characters), and an empty one is the byte 0.
constexpr Entity words(const char* name) {
  return sensor(name).read_by("{{ value.replace('\\x00', '')[:250] }}");
}
/// How many a list has.
constexpr Entity count(const char* name) {
  return sensor(name).read_by("{{ value_json | length }}");
}
constexpr Entity binary(const char* name) { return {Entity::Component::binary_sensor, name}; }
constexpr Entity toggle(const char* name) { return {Entity::Component::toggle, name}; }
constexpr Entity number(const char* name) { return {Entity::Component::number, name}; }
constexpr Entity button(const char* name) { return {Entity::Component::button, name}; }
/// A sentence of what happened last, as far as a hub takes it.
constexpr Entity happened(const char* name) {
  return sensor(name).read_by("{{ (value_json.sentence | default('none'))[:250] }}").diagnostic();
}
/// Until when somebody paused: the latest of a list.
constexpr Entity pauses(const char* name) {
  return sensor(name)
      .of("timestamp")
      .read_by("{{ value_json | map(attribute='until') | max | default('None', true) }}");
}
/// Why the last command was refused, as far as a hub takes it.
constexpr Entity refusal(const char* name) {
  return sensor(name).read_by("{{ (value_json.why | default('none'))[:250] }}").diagnostic();
}
/// Of how many alerts nobody has seen: a problem while there is one.
constexpr Entity problem(const char* name) {
  return binary(name).of("problem").read_by("{{ 'true' if value | int > 0 else 'false' }}");
}

}  // namespace limegate::mqtt
