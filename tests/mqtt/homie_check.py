#!/usr/bin/env python3
"""Checks a device tree against the text of the Homie convention 5.0.0, and knows nothing else.

usage: homie_check.py HOST PORT ROOT SECONDS

Listens for SECONDS or until something comes at homie-check/end, then checks every device found below
+/5: ids, life cycle, descriptions, datatypes, formats, retained flags, and that a device that is
ready has a value of each property that it describes. A broker that goes away is waited for; what
comes back is looked at anew. Prints "listening" whenever it does, and each finding; exit code 0 if
there is none.
"""
import json
import re
import sys
import time

import paho.mqtt.client as mqtt

ID = re.compile(r"^[a-z0-9-]+$")
STATES = {"init", "ready", "disconnected", "sleeping", "lost"}
INTEGER = re.compile(r"^-?[0-9]+$")
FLOAT = re.compile(r"^-?([0-9]+\.?[0-9]*|\.[0-9]+)([eE]-?[0-9]+)?$")
DATETIME = re.compile(r"^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}(\.\d+)?(Z|[+-]\d{2}:\d{2})$")
DURATION = re.compile(r"^PT(?=\d)(\d+H)?(\d+M)?(\d+S)?$")
DATATYPES = {"integer", "float", "boolean", "string", "enum", "color", "datetime", "duration",
             "json"}
DEVICE_KEYS = {"homie": str, "version": int, "nodes": dict, "name": str, "type": str,
               "children": list, "root": str, "parent": str, "extensions": list}
NODE_KEYS = {"name": str, "type": str, "properties": dict}
PROPERTY_KEYS = {"name": str, "datatype": str, "format": str, "settable": bool, "retained": bool,
                 "unit": str}
LOG_LEVELS = {"debug", "info", "warn", "error", "fatal"}

findings = []


def find(where, what):
    findings.append(f"{where}: {what}")


def check_keys(where, thing, known):
    for key, value in thing.items():
        if value is None:
            find(where, f"{key} is null")
        elif key in known and (not isinstance(value, known[key]) or
                               (known[key] is int and isinstance(value, bool))):
            find(where, f"{key} is of the wrong kind")


def bounds_of(text):
    parts = text.split(":")
    if len(parts) not in (2, 3):
        return None
    try:
        return [float(part) if part else None for part in parts]
    except ValueError:
        return None


def check_format(where, datatype, text):
    if datatype in ("integer", "float"):
        bounds = bounds_of(text)
        if bounds is None:
            find(where, f"format {text!r} is no [min]:[max][:step]")
        elif None not in bounds[:2] and bounds[0] > bounds[1]:
            find(where, f"format {text!r}: min is above max")
    elif datatype == "enum":
        words = text.split(",")
        if "" in words or len(set(words)) != len(words):
            find(where, f"format {text!r} has an empty or a repeated word")
    elif datatype == "boolean" and len(text.split(",")) != 2:
        find(where, f"format {text!r} is no pair of labels")


def check_payload(where, described, payload):
    if payload in (None, b""):  # an empty one deletes what was retained
        if described.get("retained", True):
            find(where, "is described, and has no value while the device is ready")
        return
    try:
        text = payload.decode("utf-8")
    except UnicodeDecodeError:
        find(where, "payload is not UTF-8")
        return
    if text.startswith("\ufeff"):
        find(where, "payload begins with a byte order mark")
    datatype, form = described["datatype"], described.get("format", "")
    good = {
        "integer": lambda: INTEGER.match(text) and -2**63 <= int(text) < 2**63,
        "float": lambda: FLOAT.match(text),
        "boolean": lambda: text in ("true", "false"),
        "enum": lambda: text in form.split(","),
        "datetime": lambda: DATETIME.match(text),
        "duration": lambda: DURATION.match(text),
        "json": lambda: isinstance(json.loads(text), (dict, list)),
    }.get(datatype, lambda: True)
    try:
        fine = good()
    except ValueError:
        fine = False
    if not fine:
        find(where, f"payload {text!r} is no {datatype}")
        return
    if datatype in ("integer", "float") and form:
        low, high = bounds_of(form)[:2]
        value = float(text)
        if (low is not None and value < low) or (high is not None and value > high):
            find(where, f"payload {text!r} is outside {form}")


def check_description(device, text):
    try:
        description = json.loads(text)
    except ValueError:
        find(device, "the description is not JSON")
        return None
    check_keys(device, description, DEVICE_KEYS)
    if description.get("homie") != "5.0":
        find(device, "the description is not of homie 5.0")
    if "version" not in description:
        find(device, "the description has no version")
    for node, about in description.get("nodes", {}).items():
        if not ID.match(node):
            find(device, f"node id {node!r}")
        check_keys(f"{device}/{node}", about, NODE_KEYS)
        for name, described in about.get("properties", {}).items():
            where = f"{device}/{node}/{name}"
            if not ID.match(name):
                find(device, f"property id {name!r}")
            check_keys(where, described, PROPERTY_KEYS)
            if described.get("datatype") not in DATATYPES:
                find(where, f"datatype {described.get('datatype')!r}")
            elif described["datatype"] in ("enum", "color") and "format" not in described:
                find(where, "needs a format")
            elif "format" in described:
                check_format(where, described["datatype"], described["format"])
    return description


class Device:
    def __init__(self, name):
        self.name = name
        self.state = None
        self.description = None
        self.version = None
        self.values = {}

    def take_state(self, text, live):
        if text not in STATES:
            find(self.name, f"$state {text!r}")
        # What was kept comes in any order: whether it is whole is looked at in the end.
        if live and text == "ready":
            if self.description is None:
                find(self.name, "ready without a description")
            else:
                self.check_complete()
        if live and text == "ready" and self.state not in ("init", "sleeping", "ready"):
            find(self.name, f"ready after {self.state}, not after init")
        self.state = text

    def take_description(self, text, live):
        description = check_description(self.name, text)
        if description is None:
            return
        if live and self.state not in ("init", "disconnected", "lost", None) and (
                self.description != description):
            find(self.name, f"the description changes while {self.state}")
        if self.description not in (None, description) and self.version == description["version"]:
            find(self.name, "the description changes and its version does not")
        self.description = description
        self.version = description["version"]

    def properties(self):
        for node, about in self.description.get("nodes", {}).items():
            for name, described in about.get("properties", {}).items():
                yield f"{node}/{name}", described

    def check_complete(self):
        for path, described in self.properties():
            check_payload(f"{self.name}/{path}", described, self.values.get(path))

    def take_value(self, path, payload, retained):
        self.values[path] = payload
        described = dict(self.properties()).get(path) if self.description else None
        if self.state == "ready" and not retained:
            if described is None:
                find(self.name, f"{path} is published and not described")
            else:
                check_payload(f"{self.name}/{path}", described, payload)
        if described is not None and retained and not described.get("retained", True):
            find(self.name, f"{path} is retained, and said not to be")


class Checker:
    def __init__(self):
        self.devices = {}
        self.messages = 0

    def forget(self):
        """A new connection: what comes now is all there is."""
        self.devices = {}

    def device(self, name):
        return self.devices.setdefault(name, Device(name))

    def take(self, message):
        self.messages += 1
        levels = message.topic.split("/")
        if len(levels) < 4 or levels[2].startswith("$"):
            return
        device, rest, live = self.device(levels[2]), levels[3:], not message.retain
        text = message.payload.decode("utf-8", "replace")
        if not ID.match(levels[2]):
            find(levels[2], "device id")
        if rest == ["$state"]:
            device.take_state(text, live)
        elif rest == ["$description"]:
            device.take_description(text, live)
        elif rest[0] == "$alert":
            if len(rest) != 2 or not ID.match(rest[1]):
                find(message.topic, "no alert id")
        elif rest[0] == "$log":
            if len(rest) != 2 or rest[1] not in LOG_LEVELS:
                find(message.topic, "no level of a log")
            if message.retain:
                find(message.topic, "a retained log")
        elif rest[0].startswith("$"):
            find(message.topic, "no attribute of Homie 5")
        elif rest[-1] == "set" and len(rest) == 3:
            if message.retain:
                find(message.topic, "a retained command")
        elif rest[-1] == "$target":
            find(message.topic, "$target is published, and was not before")
        elif len(rest) == 2:
            device.take_value("/".join(rest), message.payload, message.retain)
        else:
            find(message.topic, "no topic of Homie 5")

    def check_kept(self, kept):
        """What a controller finds that comes now: it must be whole by itself."""
        for device in self.devices.values():
            base = f"/{device.name}/"
            names = {topic.split(base, 1)[1] for topic in kept if base in topic}
            for need in ("$state", "$description"):
                if need not in names:
                    find(device.name, f"{need} is not retained")
            for path, described in device.properties() if device.description else ():
                if described.get("retained", True) and path not in names:
                    find(device.name, f"{path} is not retained")
                if not described.get("retained", True) and path in names:
                    find(device.name, f"{path} is retained, and said not to be")

    def check_family(self, root):
        about = self.devices[root].description or {}
        if "root" in about or "parent" in about:
            find(root, "a root has a root or a parent")
        for child in about.get("children", []):
            described = self.devices[child].description if child in self.devices else None
            if described is None:
                find(root, f"child {child} is not there")
            elif described.get("root") != root:
                find(child, "does not name its root")


def listen(host, port, last, take, seconds, listening=lambda: None, anew=lambda: None):
    """Until something comes at the topic `last`. A broker serves the topics of one subscription in
    their order: what it kept of `last` comes behind all else that it kept."""
    client = mqtt.Client(protocol=mqtt.MQTTv5)
    ended = []
    client.on_message = lambda _client, _data, message: (
        ended.append(1) if message.topic == last else take(message))

    def subscribe(client, *_):
        anew()
        client.subscribe([("+/5/#", 1), (last, 1)])
    client.on_connect = subscribe
    client.on_subscribe = lambda *_: listening()
    client.connect(host, port)
    end = time.monotonic() + seconds
    while not ended and time.monotonic() < end:
        if client.loop(0.05) != mqtt.MQTT_ERR_SUCCESS:
            time.sleep(0.05)
            try:
                client.reconnect()
            except OSError:
                pass  # it is not there yet
    client.disconnect()
    return bool(ended)


def main():
    host, port, root, seconds = sys.argv[1], int(sys.argv[2]), sys.argv[3], float(sys.argv[4])
    checker = Checker()
    listen(host, port, "homie-check/end", checker.take, seconds,
           lambda: print("listening", flush=True), checker.forget)
    kept = set()
    if not listen(host, port, "$SYS/broker/version",
                  lambda message: message.retain and message.payload and kept.add(message.topic),
                  60):
        find(root, "the broker keeps no version of its own, so nobody knows when it has sent all")
    if root not in checker.devices:
        find(root, "no such device")
    else:
        checker.check_kept(kept)
        checker.check_family(root)
        for device in checker.devices.values():
            if device.state != "ready":
                find(device.name, f"ends as {device.state}")
            if device.description is not None:
                device.check_complete()
    values = sum(len(device.values) for device in checker.devices.values())
    print(f"{len(checker.devices)} devices, {values} values, {checker.messages} messages, "
          f"{len(findings)} findings")
    for finding in findings:
        print(finding)
    return 1 if findings else 0


sys.exit(main())
