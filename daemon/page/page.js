"use strict";

// One stream a tab; the daemon sends the whole state each second. Ages go by this machine's
// steady clock, since a tablet's wall clock may be wrong.
const kLostAfterMs = 15000;
const kStaleAfterMs = 3000;
const kAgainFirstMs = 1000;
const kAgainMostMs = 30000;

const urgencies = {
  "act-now": "Act now",
  "act-today": "Act today",
  "when-you-can": "When you can",
};

const cards = new Map();
let stream = null;
let heardAt = null;
let againIn = kAgainFirstMs;
let againTimer = null;
let spoken = "";
let shownAt = "";

const byId = (id) => document.getElementById(id);

function make(tag, className, parent) {
  const element = document.createElement(tag);
  if (className) {
    element.className = className;
  }
  parent.append(element);
  return element;
}

function write(element, text) {
  if (element.textContent !== text) {
    element.textContent = text;
  }
}

function duration(seconds) {
  const whole = Math.max(0, Math.ceil(seconds));
  if (whole < 60) {
    return `${whole} s`;
  }
  const minutes = Math.ceil(whole / 60);
  if (minutes < 60) {
    return `${minutes} min`;
  }
  const hours = Math.floor(minutes / 60);
  return hours < 48 ? `${hours} h ${String(minutes % 60).padStart(2, "0")} min` : `${Math.floor(hours / 24)} days`;
}

function clock(iso) {
  const at = new Date(iso);
  return at.toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}

function fixed(value, decimals) {
  return value === null ? "" : value.toFixed(decimals);
}

// A bad reading is no number: only its reason, and what was seen last.
function reading(part, value, decimals, unit) {
  if (value.quality === "bad") {
    write(part.value, "–");
    const last = value.value === null ? "never read" : `last ${fixed(value.value, decimals)}${unit} at ${clock(value.time)}`;
    write(part.note, `no good reading: ${value.reason}; ${last}`);
  } else {
    write(part.value, fixed(value.value, decimals) + unit);
    write(part.note, value.quality === "good" ? "" : value.quality);
  }
}

function pair(list, name) {
  const box = make("div", "", list);
  write(make("dt", "", box), name);
  const value = make("dd", "value", box);
  return { value, note: make("dd", "small", box), box };
}

function makeCard(state, time) {
  const name = state.station;
  const root = make("section", "station", byId("stations"));
  const heading = make("h2", "", root);
  write(heading, name);
  heading.id = `station-${cards.size}`;
  root.setAttribute("aria-labelledby", heading.id);
  const card = { root, id: heading.id, verdict: make("p", "verdict", root), action: make("p", "action", root) };
  // To pause in a hurry, on a phone: before all numbers.
  const door = make("button", "door", root);
  door.type = "button";
  write(door, "Do something: type the token first");
  door.addEventListener("click", () => byId("token").focus());
  card.commands = new Commands(name, card.id, root);
  const now = make("dl", "now", root);
  card.ph = pair(now, "pH");
  card.secondPh = pair(now, "second pH");
  card.temperature = pair(now, "temperature");
  card.course = pair(now, "usual pH at this hour");
  card.next = pair(now, "next pulse");
  write(make("h3", "", root), "Limewater in the last 24 h");
  card.meter = make("meter", "", root);
  card.counted = make("p", "small", root);
  card.day = new Day(root);
  card.alertsHeading = make("h3", "", root);
  write(card.alertsHeading, "What needs a person");
  card.alerts = make("ul", "alerts", root);
  card.holdsHeading = make("h3", "", root);
  write(card.holdsHeading, "What a pulse waits for");
  card.holds = make("ul", "", root);
  const care = make("details", "care", root);
  card.careHeading = make("summary", "", care);
  card.tested = make("p", "small", care);
  card.upkeep = make("ul", "", care);
  card.past = new Past(name, card.id, root, state, time);
  cards.set(name, card);
  return card;
}

// What is due comes first; what nobody wrote down yet is said last.
const kUpkeepOrder = ["due", "fine", "not-known"];

function showCare(card, state) {
  const due = state.upkeep.filter((item) => item.state === "due").length;
  write(card.careHeading, due === 0 ? "Upkeep, powder and tests" : `Upkeep, powder and tests: ${due} due`);
  write(
    card.tested,
    state.alkalinity === null
      ? "No alkalinity is in the book yet: limegate record."
      : `Alkalinity ${fixed(state.alkalinity.dkh, 1)} dKH, tested ${clock(state.alkalinity.time)}${state.alkalinity.counts ? "" : ": too old, or its date can't be trusted by this clock, so pulses are sized for the most sensitive water"}.`,
  );
  const items = state.upkeep.map(({ state: how, sentence }) => ({ how, sentence }));
  items.sort((a, b) => kUpkeepOrder.indexOf(a.how) - kUpkeepOrder.indexOf(b.how));
  lines(card.upkeep, items, (line, item) => write(line, item.how === "due" ? `Due: ${item.sentence}` : item.sentence));
}

// The list is made anew only when it says something else: a reader is not thrown back each second.
function lines(list, items, fill) {
  const key = JSON.stringify(items);
  if (list.dataset.key === key) {
    return;
  }
  list.dataset.key = key;
  list.replaceChildren();
  for (const item of items) {
    fill(make("li", "", list), item);
  }
}

function alertLine(line, alert, name) {
  line.dataset.urgency = alert.urgency;
  const word = make("strong", "", line);
  write(word, `${urgencies[alert.urgency] || alert.urgency}: `);
  line.append(alert.sentence);
  write(make("div", "", line), alert.action);
  const seen = alert.state === "unacknowledged" ? "" : `, ${alert.state}`;
  write(make("div", "small", line), `since ${clock(alert.since)}${seen}`);
  if (alert.state === "unacknowledged") {
    const said = make("span", "small", line);
    said.setAttribute("role", "status");
    commandButton(line, "I have seen it", () => tell(said, { command: "acknowledge", alert: alert.id, station: name }));
  }
}

// A latch is released by a person, one by one.
function holdLine(line, hold, card) {
  write(line, hold.sentence);
  if (hold.clears === "by-person") {
    commandButton(line, `Release ${hold.code}`, () => card.commands.ask(`Is its cause gone? ${hold.sentence}`, { command: "release", hold: hold.code }));
  }
}

function showCounted(card, state) {
  const plan = state.day_volume_in_force_ml;
  const known = state.given_day_ml !== null;
  card.meter.max = state.day_limit_ml;
  card.meter.value = known ? state.given_day_ml : state.day_limit_ml;
  const counted = known
    ? `${fixed(state.given_day_ml, 1)} mL counted, ${fixed(plan, 1)} mL a day planned, ${fixed(state.day_limit_ml, 1)} mL allowed.`
    : state.record;
  card.meter.setAttribute("aria-label", counted);
  write(card.counted, counted);
}

function showNext(card, state) {
  if (state.pump === "running") {
    write(card.next.value, "now");
    write(card.next.note, `${fixed(state.pulse_ml, 1)} mL`);
  } else if (state.next_pulse_s !== null && state.pause_s <= state.next_pulse_s) {
    write(card.next.value, `in ${duration(state.next_pulse_s)}`);
    write(card.next.note, `${fixed(state.pulse_ml, 1)} mL${state.gate_open ? "" : ", if nothing holds it then"}`);
  } else {
    write(card.next.value, "–");
    write(card.next.note, state.pause_s > 0 ? "paused" : state.gate_open ? "after the next stir has settled" : "held");
  }
}

function showStation(state, time) {
  const card = cards.get(state.station) || makeCard(state, time);
  card.root.dataset.standing = state.verdict.standing;
  write(card.verdict, state.verdict.sentence);
  write(card.action, state.verdict.action);
  reading(card.ph, state.ph, 2, "");
  card.secondPh.box.hidden = state.second_ph === null;
  if (state.second_ph !== null) {
    reading(card.secondPh, state.second_ph, 2, "");
  }
  reading(card.temperature, state.temperature_c, 1, " °C");
  write(card.course.value, state.usual_ph === null ? "–" : fixed(state.usual_ph, 2));
  const off = state.usual_ph === null || state.ph.quality === "bad" ? null : state.ph.value - state.usual_ph;
  write(
    card.course.note,
    state.usual_ph === null
      ? `not learned yet, days to go: ${state.usual_course_days_to_go}`
      : off === null
        ? ""
        : `now ${off < 0 ? "" : "+"}${off.toFixed(2)}`,
  );
  showNext(card, state);
  showCounted(card, state);
  card.alertsHeading.hidden = state.alerts.length === 0;
  lines(card.alerts, state.alerts, (line, alert) => alertLine(line, alert, state.station));
  card.holdsHeading.hidden = state.holds.length === 0;
  lines(
    card.holds,
    state.holds.map(({ sentence, code, clears }) => ({ sentence, code, clears })),
    (line, hold) => holdLine(line, hold, card),
  );
  showCare(card, state);
  card.past.live(state, time);
  card.day.show(state, card.past.newest, card.past.now());
  card.commands.live(state);
}

// Said aloud only when something else is true, never for a number that moved.
function speak(overview) {
  const key = overview.stations
    .map((state) => [state.station, state.verdict.standing, state.holds.length ? state.holds[0].code : ""].join(" "))
    .join("; ");
  if (key === spoken) {
    return;
  }
  spoken = key;
  const calls = overview.stations.filter((state) => state.verdict.standing === "needs-a-person").map((state) => state.station);
  document.title = calls.length > 0 ? `${calls.join(", ")} needs you: Limegate` : "Limegate";
  write(byId("spoken"), overview.stations.map((state) => `${state.station}: ${state.verdict.sentence}`).join(" "));
  const urgent = overview.stations.flatMap((state) => state.alerts).concat(overview.alerts);
  write(
    byId("urgent"),
    urgent.filter((alert) => alert.urgency === "act-now").map((alert) => `${alert.sentence} ${alert.action}`).join(" "),
  );
}

function show(overview) {
  heardAt = performance.now();
  againIn = kAgainFirstMs;
  shownAt = clock(overview.time);
  const there = new Set(overview.stations.map((state) => state.station));
  for (const [name, card] of cards) {
    if (!there.has(name)) {
      card.root.remove();
      cards.delete(name);
    }
  }
  overview.stations.forEach((state) => showStation(state, overview.time));
  byId("daemon").hidden = overview.alerts.length === 0;
  lines(byId("daemon-alerts"), overview.alerts, (line, alert) => alertLine(line, alert, ""));
  speak(overview);
  showAge();
}

function showAge() {
  if (heardAt === null) {
    return;
  }
  const age = performance.now() - heardAt;
  const lost = age > kLostAfterMs;
  document.body.classList.toggle("lost", lost);
  byId("age").classList.toggle("lost", lost);
  write(
    byId("age"),
    lost
      ? `Not connected: what stands here is of ${shownAt}, ${duration(age / 1000)} ago.`
      : age > kStaleAfterMs
        ? `As of ${duration(age / 1000)} ago`
        : `Live, ${shownAt}`,
  );
}

function open() {
  clearTimeout(againTimer);
  againTimer = null;
  close();
  stream = new EventSource("/api/stream");
  stream.addEventListener("state", (event) => show(JSON.parse(event.data)));
  stream.onerror = () => again();
}

function close() {
  if (stream !== null) {
    stream.close();
    stream = null;
  }
}

// A browser gives up for good on an answer of 503: so it is opened anew, ever less often.
function again() {
  close();
  if (againTimer === null) {
    againTimer = setTimeout(open, againIn);
    againIn = Math.min(2 * againIn, kAgainMostMs);
  }
}

setInterval(() => {
  showAge();
  for (const card of cards.values()) {
    if (stream !== null) {
      card.past.freshen();
    }
  }
  if (stream !== null && heardAt !== null && performance.now() - heardAt > kLostAfterMs) {
    again();
  }
}, 1000);

document.addEventListener("visibilitychange", () => {
  if (document.hidden) {
    close();
  } else {
    open();
  }
});

open();
