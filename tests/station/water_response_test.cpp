// What a millilitre of limewater does to a tank's pH, against solved points from outside.

#include "station/water_response.h"

#include <cmath>
#include <limits>

#include <gtest/gtest.h>

#include "support/csv_table.h"

namespace limegate::station {
namespace {

constexpr Litres kVolume{400.0};

TEST(RisePerMillilitre, is_that_of_the_table_of_additions) {
  // Source: tests/data/limewater_additions.csv (PyCO2SYS 1.8.3, S 35, 25.5 degC, 1.0232 kg/L).
  int compared = 0;
  double nbs = 0.0;
  double half = 0.0;
  for (const testing::CsvRow& row : testing::read_csv("limewater_additions.csv")) {
    const double dose = testing::number(row, "X_mL_per_L");
    const double rise = testing::number(row, "dpH_total");
    if (dose == 0.0) {
      nbs = testing::number(row, "pH_nbs");
    } else if (dose == 0.5) {
      half = rise;
    } else if (dose == 1.0) {
      // The slope at no dose: through half a millilitre and one, by a parabola.
      const double slope = (4.0 * half - rise) / kVolume.count();
      const Dkh alkalinity{testing::number(row, "TA0") * 1.0231899 / 1000.0 * 2.8039};
      const auto ours =
          rise_per_millilitre(kVolume, alkalinity, Salinity{35.0}, Ph{nbs}, Celsius{25.5});
      ASSERT_TRUE(ours);
      // Ours is limewater of a cool room, 5 % stronger than the table's at 25 degC.
      EXPECT_NEAR(ours->count() / slope, 1.05, 0.01) << "TA " << alkalinity.count();
      ++compared;
    }
  }
  EXPECT_GT(compared, 3);
}

TEST(RisePerMillilitre, is_absent_where_chemistry_ends) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  EXPECT_FALSE(rise_per_millilitre(kVolume, Dkh{8.0}, Salinity{35.0}, Ph{11.0}, Celsius{25.0}));
  EXPECT_FALSE(rise_per_millilitre(kVolume, Dkh{8.0}, Salinity{35.0}, Ph{nan}, Celsius{25.0}));
  EXPECT_FALSE(rise_per_millilitre(kVolume, Dkh{8.0}, Salinity{35.0}, Ph{8.2}, Celsius{99.0}));
  EXPECT_FALSE(rise_per_millilitre(kVolume, Dkh{nan}, Salinity{35.0}, Ph{8.2}, Celsius{25.0}));
}

TEST(PhAfter, is_that_of_the_table_of_additions) {
  int compared = 0;
  SiteWater site{kVolume, {}, Salinity{35.0}};
  double nbs = 0.0;
  for (const testing::CsvRow& row : testing::read_csv("limewater_additions.csv")) {
    const double dose = testing::number(row, "X_mL_per_L");
    if (dose == 0.0) {
      nbs = testing::number(row, "pH_nbs");
      site.alkalinity = Dkh{testing::number(row, "TA0") * 1.0231899 / 1000.0 * 2.8039};
      continue;
    }
    const auto after = ph_after(site, Ph{nbs}, Celsius{25.5}, Millilitres{dose * kVolume.count()});
    ASSERT_TRUE(after);
    // As above, 5 % stronger; and pH answers less than evenly to the larger doses.
    EXPECT_NEAR((*after - Ph{nbs}).count() / testing::number(row, "dpH_total"), 1.05, 0.03) << dose;
    ++compared;
  }
  EXPECT_GT(compared, 6);
  EXPECT_FALSE(ph_after(site, Ph{8.4}, Celsius{25.5}, Millilitres{500.0 * kVolume.count()}))
      << "more than is ever asked about";
}

TEST(WaterResponse, expects_sensitive_water_until_it_knows_better) {
  WaterResponse response{{kVolume, Dkh{8.0}, Salinity{35.0}}};
  const PhChange worst{kPhPerMlPerL / kVolume.count()};
  EXPECT_EQ(response.per_millilitre(), worst);
  response.take(Ph{8.2}, Celsius{25.5});
  const PhChange usual = response.per_millilitre();
  EXPECT_LT(usual, worst);
  EXPECT_GT(usual, PhChange{0.0});
  response.take(Ph{7.9}, Celsius{25.5});
  EXPECT_GT(response.per_millilitre(), usual) << "the lower the pH, the larger the step";
  response.take(Ph{11.0}, Celsius{25.5});
  EXPECT_EQ(response.per_millilitre(), worst);
}

TEST(WaterResponse, is_tested_where_an_alkalinity_was_given) {
  EXPECT_FALSE(WaterResponse({kVolume, std::nullopt, Salinity{35.0}}).tested_per_millilitre());
  EXPECT_TRUE(WaterResponse({kVolume, Dkh{8.0}, Salinity{35.0}}).tested_per_millilitre());
}

}  // namespace
}  // namespace limegate::station
