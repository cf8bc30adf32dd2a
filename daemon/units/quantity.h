#pragma once

#include <compare>

namespace limegate {

/// An amount: it can be added, subtracted and scaled, and it is never mixed with another kind.
/// Shape:  one double with the unit in its type. `count()` is the only way out.
/// Errors: none; NaN passes through and compares false with everything, so ask "is it good?".
template <class Tag>
class Quantity {
 public:
  constexpr Quantity() = default;
  constexpr explicit Quantity(double count) : count_(count) {}
  [[nodiscard]] constexpr double count() const { return count_; }

  constexpr Quantity& operator+=(Quantity other) { return count_ += other.count_, *this; }
  constexpr Quantity& operator-=(Quantity other) { return count_ -= other.count_, *this; }
  friend constexpr Quantity operator+(Quantity a, Quantity b) { return a += b; }
  friend constexpr Quantity operator-(Quantity a, Quantity b) { return a -= b; }
  friend constexpr Quantity operator-(Quantity a) { return Quantity{-a.count_}; }
  friend constexpr Quantity operator*(Quantity a, double k) { return Quantity{a.count_ * k}; }
  friend constexpr Quantity operator*(double k, Quantity a) { return a * k; }
  friend constexpr Quantity operator/(Quantity a, double k) { return Quantity{a.count_ / k}; }
  friend constexpr double operator/(Quantity a, Quantity b) { return a.count_ / b.count_; }
  friend constexpr auto operator<=>(Quantity, Quantity) = default;

 private:
  double count_ = 0.0;
};

/// A position on a scale: two positions subtract to a Quantity, and are never added.
/// Shape:  one double with the scale in its type.
template <class Tag>
class Point {
 public:
  using Difference = Quantity<Tag>;
  constexpr Point() = default;
  constexpr explicit Point(double count) : count_(count) {}
  [[nodiscard]] constexpr double count() const { return count_; }

  friend constexpr Difference operator-(Point a, Point b) {
    return Difference{a.count_ - b.count_};
  }
  friend constexpr Point operator+(Point a, Difference d) { return Point{a.count_ + d.count()}; }
  friend constexpr Point operator-(Point a, Difference d) { return Point{a.count_ - d.count()}; }
  friend constexpr auto operator<=>(Point, Point) = default;

 private:
  double count_ = 0.0;
};

}  // namespace limegate
