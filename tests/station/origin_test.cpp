#include <gtest/gtest.h>

#include "station/command.h"

namespace limegate::station {
namespace {

TEST(Command, comes_from_afar_only_if_it_holds_back) {
  for (const Command& command : {Command{Pause{}}, Command{Resume{}}, Command{SetDayVolume{}}}) {
    EXPECT_TRUE(permits(Origin::afar, command)) << name_of(command);
    EXPECT_TRUE(permits(Origin::station, command)) << name_of(command);
  }
  for (const Command& command :
       {Command{Release{}}, Command{StirNow{}}, Command{RunAttended{}}, Command{Relearn{}},
        Command{SwitchAllOff{}}, Command{ConfirmRate{}}, Command{WriteEntry{}},
        Command{UndoEntry{}}, Command{Service{}}, Command{Away{}}, Command{Back{}}}) {
    EXPECT_FALSE(permits(Origin::afar, command)) << name_of(command);
    EXPECT_TRUE(permits(Origin::station, command)) << name_of(command);
  }
}

}  // namespace
}  // namespace limegate::station
