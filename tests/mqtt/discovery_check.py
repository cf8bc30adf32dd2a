#!/usr/bin/env python3
"""Checks discovery documents as a hub reads them, and knows nothing else: neither the program that
wrote them nor the convention of the topics they point at.

usage: discovery_check.py HOST PORT PREFIX

Reads every retained document at PREFIX/COMPONENT/NODE/OBJECT/config and everything else that the
broker keeps; then each document must have the fields of its component and no unknown one, its value
must be kept at its topic, its command topic must not be, and it must be available: each availability
topic is kept, and says "ready" by itself or by its template. Templates are run where jinja2 is
installed, which is the language they are written in; without it one that is not of a state is left
out. Prints how many, and each finding; exit code 0 if there is none.
"""
import json
import re
import sys
import time

import paho.mqtt.client as mqtt

try:
    import jinja2
except ImportError:
    jinja2 = None

LAST = "$SYS/broker/version"
OBJECT = re.compile(r"^[a-zA-Z0-9_-]+$")
DATETIME = re.compile(r"^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}(\.\d+)?(Z|[+-]\d{2}:\d{2})$")
COMMON = {"name", "unique_id", "availability", "availability_mode", "device", "origin"}
MAY = COMMON | {"qos", "device_class", "entity_category", "enabled_by_default", "expire_after",
                "value_template", "unit_of_measurement", "state_class",
                "suggested_display_precision", "retain"}
NEED = {"sensor": {"state_topic"},
        "binary_sensor": {"state_topic", "payload_on", "payload_off"},
        "switch": {"state_topic", "command_topic", "payload_on", "payload_off", "state_on",
                   "state_off"},
        "number": {"state_topic", "command_topic", "min", "max", "step", "mode"},
        "button": {"command_topic", "payload_press"}}
AVAILABILITY = {"topic", "payload_available", "payload_not_available", "value_template"}

findings = []


def find(where, what):
    findings.append(f"{where}: {what}")


def read(host, port):
    """Everything that is kept, by topic. The broker serves one subscription's topics in order."""
    kept, ended = {}, []
    client = mqtt.Client(protocol=mqtt.MQTTv5)

    def take(_client, _data, message):
        if message.topic == LAST:
            ended.append(1)
        elif message.retain:
            kept[message.topic] = message.payload
    client.on_message = take
    client.on_connect = lambda client, *_: client.subscribe([("#", 1), (LAST, 1)])
    client.connect(host, port)
    end = time.monotonic() + 60
    while not ended and time.monotonic() < end:
        client.loop(0.05)
    client.disconnect()
    if not ended:
        find(host, "the broker did not send all that it keeps")
    return kept


def rendered(template, payload):
    text = payload.decode("utf-8")
    try:
        parsed = json.loads(text)
    except ValueError:
        parsed = None
    return jinja2.Template(template).render(value=text, value_json=parsed)


def check_value(topic, document, component, payload):
    template = document.get("value_template")
    if template and jinja2 is None:
        return
    value = rendered(template, payload) if template else payload.decode("utf-8")
    if len(value) > 255:
        find(topic, "its value is longer than 255 characters")
    if component == "number" and not document["min"] <= float(value) <= document["max"]:
        find(topic, f"{value} is outside {document['min']} to {document['max']}")
    if component in ("binary_sensor", "switch"):
        on = document.get("state_on", document["payload_on"])
        off = document.get("state_off", document["payload_off"])
        if value not in (on, off, "None"):
            find(topic, f"{value!r} is neither on nor off")
    if component == "sensor" and value != "None":
        if document.get("device_class") == "timestamp" and not DATETIME.match(value):
            find(topic, f"{value!r} is no moment")
        if document.get("unit_of_measurement") or document.get("state_class"):
            float(value)


def check_available(topic, one, kept):
    if set(one) - AVAILABILITY or "topic" not in one:
        find(topic, f"availability with {sorted(one)}")
        return
    if not kept.get(one["topic"]):
        find(topic, f"nothing is kept at {one['topic']}")
        return
    said = kept[one["topic"]].decode("utf-8")
    if "value_template" in one and jinja2 is not None:
        said = rendered(one["value_template"], kept[one["topic"]])
    elif not one["topic"].endswith("state"):
        return
    if said != "ready" or one["payload_available"] != "ready":
        find(topic, f"{one['topic']} says {said!r}")


def check(topic, component, payload, kept):
    if len(payload) > 4096:
        find(topic, f"{len(payload)} bytes")
    document = json.loads(payload)
    for field in sorted((COMMON | NEED[component]) - set(document)):
        find(topic, f"has no {field}")
    for field in sorted(set(document) - MAY - NEED[component]):
        find(topic, f"has {field}, which nobody reads")
    if document.get("retain", False):
        find(topic, "its commands would be kept")
    if document.get("command_topic") in kept:
        find(topic, "a command is kept")
    if document.get("availability_mode") != "all" or not document["availability"]:
        find(topic, "is not available by all of some topics")
    for one in document["availability"]:
        check_available(topic, one, kept)
    if "state_topic" in document:
        value = kept.get(document["state_topic"])
        if not value:
            find(topic, f"no value is kept at {document['state_topic']}")
        else:
            check_value(topic, document, component, value)
    return document


def main():
    host, port, prefix = sys.argv[1], int(sys.argv[2]), sys.argv[3]
    kept = read(host, port)
    ids, devices, shown = set(), set(), 0
    documents = [topic for topic in kept
                 if topic.startswith(prefix + "/") and topic.endswith("/config")]
    for topic in documents:
        levels = topic[len(prefix) + 1:].split("/")
        if len(levels) != 4 or levels[0] not in NEED or not all(map(OBJECT.match, levels[1:3])):
            find(topic, "no topic of a document")
            continue
        document = check(topic, levels[0], kept[topic], kept)
        if document["unique_id"] in ids:
            find(topic, "its id is there twice")
        ids.add(document["unique_id"])
        devices.add(document["device"]["identifiers"][0])
        shown += document.get("enabled_by_default", True)
        via = document["device"].get("via_device")
        if via is not None and via == document["device"]["identifiers"][0]:
            find(topic, "its device is reached by itself")
    print(f"{len(documents)} documents, {len(devices)} devices, {shown} shown, templates "
          f"{'run' if jinja2 else 'not run'}, {len(findings)} findings")
    for finding in findings:
        print(finding)
    return 1 if findings or not documents else 0


sys.exit(main())
