"""The built daemon with all that is around it: stations on a Modbus board (pymodbus), a mosquitto
that a house publishes its inputs to (paho), and the clock of tests/support/shared_clock.h, in which
days pass in minutes. A scenario of our own; everything listens on the loopback address."""
import asyncio
import ctypes
import json
import logging
import math
import mmap
import multiprocessing
import signal
import sqlite3
import subprocess
import time

import paho.mqtt.client as mqtt
from pymodbus.datastore import (ModbusSequentialDataBlock, ModbusServerContext,
                                ModbusSlaveContext)
from pymodbus.server.async_io import ModbusTcpServer
from pymodbus.transaction import ModbusSocketFramer

from sinks import free_port, read, within, write

SECOND = 10**9
# Of each station. Their inputs and rules have the same names.
KINDS = {"call": 24, "seen": 3, "hold": 2, "latch": 3}
MAX_AGE_S = 1800


class Clock(ctypes.Structure):
    """SharedClock's face. Ticks are granted to the daemon; without one its time stands still."""
    _fields_ = [(name, ctypes.c_int64) for name in ("mono", "wall", "boot", "ticks", "missed",
                                                    "unset")]

    @classmethod
    def at(cls, path):
        with open(path, "a+b") as file:
            file.truncate(ctypes.sizeof(cls))
            clock = cls.from_buffer(mmap.mmap(file.fileno(), ctypes.sizeof(cls)))
        if clock.boot == 0:
            clock.mono, clock.wall, clock.boot = 3600 * SECOND, time.time_ns(), 1
        return clock

    @property
    def now(self):
        """Seconds on its wall."""
        return self.wall / SECOND

    def pass_without_daemon(self, seconds, reboot):
        self.wall += seconds * SECOND
        self.mono = 20 * SECOND if reboot else self.mono + seconds * SECOND
        self.boot += int(reboot)


def rules():
    return [f"{kind}-{number}" for kind, count in KINDS.items() for number in range(count)]


def lasting_s(rule):
    """How long a rule must be met."""
    return (0, 5, 30, 60)[int(rule.split("-")[1]) % 4]


def station_text(number, name):
    text = f"""
[[station]]
name = "{name}"
water_volume_l = 400
evaporation_ml_per_day = 4000
reactor_bore_mm = 150
[station.ph]
bus = "board"
unit = 1
address = {2 * number}
scale = 0.01
[station.temperature]
bus = "board"
unit = 1
address = {2 * number + 1}
scale = 0.1
[station.pump]
bus = "board"
unit = 2
address = {2 * number}
timed_on_register = {2 * number + 100}
rate_ml_per_min = 50
rate_measured = 2026-11-20
[station.stirrer]
bus = "board"
unit = 2
address = {2 * number + 1}
timed_on_register = {2 * number + 101}
[station.plan]
day_volume_ml = 2000
"""
    effects = {"call": 'effect = "alert"', "seen": 'effect = "alert"\nrelease = "by-person"',
               "hold": 'effect = "hold"', "latch": 'effect = "hold"\nrelease = "by-person"'}
    for rule in rules():
        text += f"""
[[station.input]]
name = "{rule}"
mqtt_topic = "house/{name}/{rule}"
kind = "digital"
max_age_s = {MAX_AGE_S}
usual = "off"
[[station.rule]]
name = "{rule}"
when = {{ input = "{rule}", is = "on" }}
lasting_s = {lasting_s(rule)}
{effects[rule.split("-")[0]]}
"""
    return text


def config_text(folder, stations, board_port, broker_port, deliver):
    return f"""
[daemon]
state_dir = "{folder}/state"
poll_s = 5
[mqtt]
broker = "mqtt://127.0.0.1:{broker_port}"
[[bus]]
name = "board"
type = "modbus-tcp"
host = "127.0.0.1"
tcp_port = {board_port}
reply_timeout_ms = 4000
""" + "".join(station_text(number, name) for number, name in enumerate(stations)) + f"""
[deliver]
state_dir = "{folder}/queue"
{deliver}"""


class Board:
    """Probes and relays of every station, in a process of its own: pH 8.20 and 25.5 degC with a
    ripple, as water has one. A relay's timed-on register runs it for n x 0.1 s of the clock."""

    def __init__(self, clock_path, stations):
        self.port = free_port()
        self.process = multiprocessing.Process(target=self._work, args=(clock_path, stations),
                                               daemon=True)

    def start(self):
        self.process.start()

    def stop(self):
        if self.process.is_alive():
            self.process.kill()
            self.process.join()

    def _work(self, clock_path, stations):
        logging.disable()  # each end of the daemon breaks a connection
        clock, until = Clock.at(clock_path), [0.0] * (2 * stations)

        class Probes(ModbusSequentialDataBlock):
            def getValues(self, address, count=1):
                t = clock.now
                shown = (round(820 + 1.1 * math.sin(2 * math.pi * t / 600)),
                         round(255 + 2 * math.sin(t / 9000)))
                return [shown[a % 2] for a in range(address, address + count)]

        class Relays(ModbusSequentialDataBlock):
            def getValues(self, address, count=1):
                return [until[a] > clock.now for a in range(address, address + count)]

            def setValues(self, address, values):
                for i, on in enumerate(values):
                    until[address + i] = math.inf if on else 0.0

        class Timers(ModbusSequentialDataBlock):
            def setValues(self, address, values):
                for i, steps in enumerate(values):
                    until[address - 100 + i] = clock.now + steps / 10

        probes = ModbusSlaveContext(hr=Probes(0, [0] * 2 * stations), zero_mode=True)
        board = ModbusSlaveContext(co=Relays(0, [0] * 2 * stations),
                                   hr=Timers(0, [0] * (100 + 2 * stations)), zero_mode=True)

        async def serve():
            server = ModbusTcpServer(
                ModbusServerContext(slaves={1: probes, 2: board}, single=False),
                framer=ModbusSocketFramer, address=("127.0.0.1", self.port),
                allow_reuse_address=True)
            await server.serve_forever()

        asyncio.run(serve())


class Broker:
    def __init__(self, folder):
        self.port, self.config, self.child = free_port(), f"{folder}/mosquitto.conf", None
        write(self.config, f"listener {self.port} 127.0.0.1\nallow_anonymous true\n"
              "max_inflight_messages 0\nmax_queued_messages 0\n")

    def start(self):
        self.child = subprocess.Popen(["/usr/sbin/mosquitto", "-c", self.config],
                                      stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    def stop(self):
        if self.child:
            self.child.kill()
            self.child.wait()


class House:
    """Publishes the inputs, and hears whether the daemon is there: `ready_at` is when it said so on
    the clock's wall, and `shown` what it says of each input, since `forget` was called last."""

    def __init__(self, clock, port):
        self.clock, self.port, self.ready_at, self.client = clock, port, None, None
        self.shown = {}

    def start(self):
        self.client = mqtt.Client(client_id="house")
        self.client.on_connect = lambda client, *_: client.subscribe(
            [("homie/5/limegate/$state", 0), ("homie/5/+/inputs/+", 0)])
        self.client.on_message = self._hear
        self.client.max_queued_messages_set(0)

        def connects():
            try:
                self.client.connect("127.0.0.1", self.port)
                return True
            except OSError:
                return False
        if not within(20, connects):
            raise RuntimeError("the broker does not start")
        self.client.loop_start()

    def stop(self):
        if self.client:
            self.client.disconnect()
            self.client.loop_stop()

    def _hear(self, _client, _data, message):
        levels = message.topic.split("/")
        if levels[3] == "inputs":
            if not message.retain:  # else it is the word of an earlier life
                station = levels[2].removeprefix("limegate-")
                self.shown[station, levels[4]] = message.payload == b"true"
        elif message.payload == b"ready":
            self.ready_at = self.ready_at or self.clock.now
        else:
            self.ready_at = None

    def forget(self):
        self.ready_at = None
        self.shown = {}

    def publish(self, values):
        """Waits until the broker has them all."""
        newest = None
        for (station, rule), on in values.items():
            newest = self.client.publish(f"house/{station}/{rule}", "on" if on else "off", qos=1)
        if newest:
            try:
                newest.wait_for_publish(5)
            except (ValueError, RuntimeError):
                pass  # without a broker: it comes with the next


class Daemon:
    """bench_daemon: limegate's `run` on the shared clock. Commands are limegate's own."""

    def __init__(self, programs, folder, clock):
        self.programs, self.folder, self.clock = programs, folder, clock
        self.config, self.state, self.log = f"{folder}/reef.toml", f"{folder}/state", f"{folder}/log"
        self.child, self.messages = None, {}

    def run(self, *arguments):
        command = [self.programs["limegate"], *arguments]
        return subprocess.run(command, capture_output=True, text=True, check=False)

    def start(self):
        self.clock.ticks = 0
        with open(self.log, "a", encoding="utf-8") as log:
            self.child = subprocess.Popen(
                [self.programs["bench_daemon"], f"{self.folder}/clock", self.config],
                stdout=log, stderr=subprocess.STDOUT)

    def let_pass(self, seconds):
        """On the clock; then it stands still."""
        self.clock.ticks = seconds
        missed, until = None, time.time() + 300
        while missed is None or self.clock.missed == missed:
            if self.child.poll() is not None or time.time() > until:
                raise RuntimeError(f"the daemon stopped: {self.child.poll()}\n"
                                   + read(self.log)[-2000:])
            if missed is None and self.clock.ticks == 0:
                missed = self.clock.missed
            time.sleep(0.001)

    def ask(self, *arguments):
        """A command, for which time must pass."""
        command = subprocess.Popen([self.programs["limegate"], arguments[0], self.config,
                                    *arguments[1:]], stdout=subprocess.PIPE,
                                   stderr=subprocess.STDOUT, text=True)
        while command.poll() is None:
            self.let_pass(1)
        return command.returncode == 0

    def kill(self):
        self.child.send_signal(signal.SIGKILL)
        self.child.wait()
        self.clock.ticks = 0

    def end(self):
        """Politely; the exit code."""
        self.child.terminate()
        self.clock.ticks = -1
        code = self.child.wait(timeout=120)
        self.clock.ticks = 0
        return code

    def stop(self):
        if self.child and self.child.poll() is None:
            self.kill()

    def _rows(self, sql):
        ledger = sqlite3.connect(f"file:{self.state}/ledger.db?mode=ro", uri=True, timeout=10)
        try:
            return ledger.execute(sql).fetchall()
        finally:
            ledger.close()

    def harvest(self):
        """Takes what the ledger has of messages: it keeps a hundred. What changed is returned."""
        changed = []
        for number, lifetime_ms, wall_ms, event in self._rows(
                "SELECT number, lifetime_ms, wall_ms, event FROM alert_messages ORDER BY number"):
            row = (lifetime_ms, wall_ms, event)
            if self.messages.setdefault(number, row) != row:
                changed.append(number)
        return changed

    def records(self):
        return [json.loads(record) for record, in self._rows("SELECT record FROM alerts")]

    def history(self):
        """All events of alerts, by the command for it."""
        ran = self.run("alerts", self.config, "--since", "30d", "--json")
        return json.loads(ran.stdout)
