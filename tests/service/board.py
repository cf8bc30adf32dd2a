"""The board and probes of the service test, made with pymodbus 3.0.0: pH 8.20 and 25.5 degC at unit
1, relays for pump and stirrer at unit 2. A relay's timed-on register runs it for n x 0.1 s.
When a daemon switches the pump on by its coil, a file that LOG.live names is made.

usage: board.py LOG   (serves 127.0.0.1:1502; every write goes to LOG with its time)
"""
import os
import sys
import time

from pymodbus.datastore import (ModbusSequentialDataBlock, ModbusServerContext,
                                ModbusSlaveContext)
from pymodbus.server import StartTcpServer

log = open(sys.argv[1], "a", encoding="ascii", buffering=1)
until = [0.0, 0.0]  # when the relays of pump and stirrer open


def say(what):
    log.write(f"{time.time():.3f} {what}\n")


class Relays(ModbusSequentialDataBlock):
    """The coils: closed as long as the relay's own timer runs."""

    def getValues(self, address, count=1):
        now = time.time()
        return [a < 2 and until[a] > now for a in range(address, address + count)]

    def setValues(self, address, values):
        for i, on in enumerate(values):
            until[address + i] = float("inf") if on else 0.0
            say(f"coil {address + i} {'on' if on else 'off'}")
            if on and address + i == 0 and os.path.exists(sys.argv[1] + ".live"):
                with open(sys.argv[1] + ".live", encoding="ascii") as named:
                    open(named.read().strip(), "w", encoding="ascii").close()


class Timers(ModbusSequentialDataBlock):
    """Registers 10 and 11."""

    def setValues(self, address, values):
        for i, steps in enumerate(values):
            until[address - 10 + i] = time.time() + steps / 10
            say(f"coil {address - 10 + i} on for {steps / 10:.1f} s")


probes = ModbusSlaveContext(hr=ModbusSequentialDataBlock(0, [820, 255] + [0] * 10), zero_mode=True)
board = ModbusSlaveContext(co=Relays(0, [0] * 2), hr=Timers(0, [0] * 20), zero_mode=True)
say("board starts")
StartTcpServer(context=ModbusServerContext(slaves={1: probes, 2: board}, single=False),
               address=("127.0.0.1", 1502))
