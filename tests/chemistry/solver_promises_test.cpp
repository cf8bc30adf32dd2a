// What the solver promises beside its numbers: it allocates nothing and may be called from any
// thread.

#include <atomic>
#include <cstdlib>
#include <new>
#include <thread>
#include <type_traits>
#include <vector>

#include <gtest/gtest.h>

#include "chemistry/carbonate_system.h"
#include "chemistry/dose.h"
#include "chemistry/electrode.h"
#include "chemistry/limewater.h"

namespace {
// Operator new has no other place to count.
// NOLINTNEXTLINE(cppcoreguidelines-avoid-non-const-global-variables)
std::atomic<long> allocations{0};
}  // namespace

// Not inlined: the compiler would then see malloc's memory freed behind a plain new, and warn.
[[gnu::noinline]] void* operator new(std::size_t size) {
  ++allocations;
  if (void* memory = std::malloc(size == 0 ? 1 : size)) {
    return memory;
  }
  throw std::bad_alloc{};
}
[[gnu::noinline]] void operator delete(void* memory) noexcept { std::free(memory); }
[[gnu::noinline]] void operator delete(void* memory, std::size_t) noexcept { std::free(memory); }

namespace limegate::chemistry {
namespace {

static_assert(std::is_trivially_copyable_v<SeawaterConstants>);
static_assert(std::is_trivially_copyable_v<CarbonateState>);
static_assert(std::is_trivially_copyable_v<ChemistryFault>);

/// Everything from constants to the largest dose, and a fault; the sum of its answers.
double everything(double ph) {
  double sum = 0.0;
  const auto c = seawater_constants(Salinity{35.0}, Celsius{25.0});
  const auto water = solve_from_ph(*c, MicromolPerKg{2300.0}, PhTotal{ph});
  const auto back = solve_from_carbon(*c, water->alkalinity, water->dissolved_carbon);
  const auto limewater = saturated_limewater(Celsius{25.0});
  const auto tank = tank_of(Litres{800.0}, *c, *back);
  sum += effect_of(*tank, *limewater, Millilitres{100.0})->rise.count();
  sum += largest_dose(*tank, *limewater, DoseLimits{})->count();
  sum += properties_of(*limewater).ph.count();
  sum += ph_from(Electrode{}, Millivolts{-60.0}, Celsius{25.0})->count();
  sum += solve_from_ph(*c, MicromolPerKg{-1.0}, PhTotal{ph}).error().value;
  return sum;
}

TEST(SolverPromises, nothing_is_allocated) {
  const long before = allocations;
  const double sum = everything(8.1);
  EXPECT_EQ(allocations, before);
  EXPECT_GT(sum, 0.0);
  ::operator delete(::operator new(1));  // the counter does count
  EXPECT_EQ(allocations, before + 1);
}

TEST(SolverPromises, threads_at_once_have_the_same_answers_as_one_alone) {
  std::vector<double> alone;
  alone.reserve(500);
  for (int i = 0; i < 500; ++i) {
    alone.push_back(everything(7.5 + 0.002 * i));
  }
  std::vector<int> differences(4, 0);
  std::vector<std::thread> threads;
  threads.reserve(differences.size());
  for (int& different : differences) {
    threads.emplace_back([&different, &alone] {
      for (int i = 0; i < 500; ++i) {
        const double answer = everything(7.5 + 0.002 * i);
        different += answer == alone[static_cast<std::size_t>(i)] ? 0 : 1;
      }
    });
  }
  for (std::thread& thread : threads) {
    thread.join();
  }
  EXPECT_EQ(differences, std::vector<int>(4, 0));
}

}  // namespace
}  // namespace limegate::chemistry
