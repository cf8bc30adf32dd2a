"""A Modbus slave made with pymodbus 3.0.0, for the driver to be tried against.

usage: foreign_slave.py tcp PORTFILE | rtu DEVICE
Over TCP it takes a free port of 127.0.0.1 and writes its number to PORTFILE.
"""
import asyncio
import os
import sys

from pymodbus.datastore import (ModbusSequentialDataBlock, ModbusServerContext,
                                ModbusSlaveContext)
from pymodbus.server.async_io import ModbusSerialServer, ModbusTcpServer
from pymodbus.transaction import ModbusRtuFramer, ModbusSocketFramer


def tables():
    holding = [0] * 100
    holding[0] = 812
    holding[1:3] = [0x4104, 0x0000]  # 8.25 in IEEE 754: 1.03125 x 2^3
    inputs = [0] * 100
    inputs[5] = 0x10000 - 250
    discrete = [0] * 100
    discrete[2] = 1
    slave = ModbusSlaveContext(
        co=ModbusSequentialDataBlock(0, [0] * 100),
        di=ModbusSequentialDataBlock(0, discrete),
        hr=ModbusSequentialDataBlock(0, holding),
        ir=ModbusSequentialDataBlock(0, inputs),
        zero_mode=True)
    return ModbusServerContext(slaves={1: slave}, single=False)


async def tcp(port_file):
    server = ModbusTcpServer(tables(), framer=ModbusSocketFramer, address=("127.0.0.1", 0))
    serving = asyncio.ensure_future(server.serve_forever())
    await server.serving
    number = server.server.sockets[0].getsockname()[1]
    with open(port_file + ".new", "w", encoding="ascii") as file:
        file.write(str(number))
    os.rename(port_file + ".new", port_file)
    await serving


async def rtu(device):
    server = ModbusSerialServer(tables(), framer=ModbusRtuFramer, port=device, baudrate=19200)
    await server.start()
    await server.serve_forever()


asyncio.run({"tcp": tcp, "rtu": rtu}[sys.argv[1]](sys.argv[2]))
