#pragma once

namespace limegate {

/// For `std::visit`: one lambda for each kind; the compiler asks for those that are missing.
template <class... Lambdas>
struct Visitor : Lambdas... {
  using Lambdas::operator()...;
};
template <class... Lambdas>
Visitor(Lambdas...) -> Visitor<Lambdas...>;

}  // namespace limegate
