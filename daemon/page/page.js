"use strict";

// One stream a tab; the daemon sends the whole state each second. Ages go by this machine's
// steady clock, since a tablet's wall clock may be wrong.
const kLostAfterMs = 15000;
const kStaleAfterMs = 3000;
const kAgainFirstMs = 1000;
const kAgainMostMs = 30000;

const kLookBackEveryMs = 60000;
const spans = [
  [6, "6 h"],
  [24, "day"],
  [168, "week"],
  [720, "month"],
  [8760, "year"],
];

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

function makeCard(name) {
  const root = make("section", "station", byId("stations"));
  const heading = make("h2", "", root);
  write(heading, name);
  heading.id = `station-${cards.size}`;
  root.setAttribute("aria-labelledby", heading.id);
  const card = { root, verdict: make("p", "verdict", root), action: make("p", "action", root) };
  const now = make("dl", "now", root);
  card.ph = pair(now, "pH");
  card.secondPh = pair(now, "second pH");
  card.temperature = pair(now, "temperature");
  card.course = pair(now, "usual pH at this hour");
  card.next = pair(now, "next pulse");
  write(make("h3", "", root), "Limewater in the last 24 h");
  card.meter = make("meter", "", root);
  card.counted = make("p", "small", root);
  card.alertsHeading = make("h3", "", root);
  write(card.alertsHeading, "What needs a person");
  card.alerts = make("ul", "alerts", root);
  card.holdsHeading = make("h3", "", root);
  write(card.holdsHeading, "What a pulse waits for");
  card.holds = make("ul", "", root);
  card.last = make("p", "small", root);
  write(make("h3", "", root), "What was");
  makeSpans(card, name, make("div", "spans", root));
  card.phCourse = makeChart(root, "pH");
  card.temperatureCourse = makeChart(root, "temperature, °C");
  cards.set(name, card);
  lookBack(card, name);
  return card;
}

function makeSpans(card, name, row) {
  row.setAttribute("role", "group");
  row.setAttribute("aria-label", "how far back");
  card.hours = 24;
  card.spans = spans.map(([hours, word]) => {
    const button = make("button", "", row);
    button.type = "button";
    write(button, word);
    button.setAttribute("aria-pressed", String(hours === card.hours));
    button.addEventListener("click", () => {
      card.hours = hours;
      card.spans.forEach((one) => one.setAttribute("aria-pressed", String(one === button)));
      lookBack(card, name);
    });
    return button;
  });
}

const kSvg = "http://www.w3.org/2000/svg";
const kChartWidth = 600;
const kChartHeight = 120;

function makeChart(root, name) {
  const figure = make("figure", "", root);
  const caption = make("figcaption", "", figure);
  const svg = document.createElementNS(kSvg, "svg");
  svg.setAttribute("viewBox", `0 0 ${kChartWidth} ${kChartHeight}`);
  svg.setAttribute("preserveAspectRatio", "none");
  svg.setAttribute("role", "img");
  figure.append(svg);
  const below = make("div", "below small", figure);
  return { name, caption, svg, from: make("span", "", below), until: make("span", "", below) };
}

function path(svg, className, d) {
  const element = document.createElementNS(kSvg, "path");
  element.setAttribute("class", className);
  element.setAttribute("d", d);
  svg.append(element);
}

// Runs of steps that are known: what nobody wrote down is a gap.
function runs(values) {
  const all = [];
  values.forEach((value, i) => {
    if (value === null) {
      return;
    }
    if (i === 0 || values[i - 1] === null) {
      all.push([]);
    }
    all[all.length - 1].push(i);
  });
  return all;
}

function draw(chart, course, low, mean, high, decimals, least) {
  const known = low.concat(high).filter((value) => value !== null);
  chart.svg.replaceChildren();
  const from = new Date(course.from);
  write(chart.from, clock(course.from));
  write(chart.until, clock(new Date(from.getTime() + 1000 * course.step_s * low.length).toISOString()));
  if (known.length === 0) {
    write(chart.caption, `${chart.name}: nothing was recorded`);
    chart.svg.setAttribute("aria-label", chart.caption.textContent);
    return;
  }
  const lowest = Math.min(...known);
  const highest = Math.max(...known);
  const room = Math.max(0, least - (highest - lowest)) / 2 + 0.02 * least;
  const x = (i) => ((i + 0.5) * kChartWidth) / low.length;
  const y = (value) => kChartHeight * (1 - (value - lowest + room) / (highest - lowest + 2 * room));
  const point = (i, value) => `${x(i).toFixed(1)},${y(value).toFixed(1)}`;
  for (const run of runs(mean)) {
    const there = run.map((i) => point(i, high[i]));
    const back = [...run].reverse().map((i) => point(i, low[i]));
    path(chart.svg, "band", `M${there.concat(back).join("L")}Z`);
    path(chart.svg, "mean", `M${run.map((i) => point(i, mean[i])).join("L")}h0.1`);
  }
  const range = `${chart.name}: lowest ${lowest.toFixed(decimals)}, highest ${highest.toFixed(decimals)}`;
  write(chart.caption, range);
  chart.svg.setAttribute("aria-label", range);
}

async function lookBack(card, name) {
  const hours = card.hours;
  card.lookedAt = performance.now();
  try {
    const answer = await fetch(`/api/history?station=${name}&hours=${hours}`);
    const course = await answer.json();
    if (hours !== card.hours) {
      return; // another span was asked for meanwhile
    }
    if (!answer.ok) {
      write(card.phCourse.caption, course.detail);
      return;
    }
    draw(card.phCourse, course, course.ph_low, course.ph_mean, course.ph_high, 2, 0.2);
    const degrees = course.temperature_c;
    draw(card.temperatureCourse, course, degrees, degrees, degrees, 1, 2);
  } catch (error) {
    write(card.phCourse.caption, "What was can't be shown: the daemon does not answer.");
  }
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

function alertLine(line, alert) {
  line.dataset.urgency = alert.urgency;
  const word = make("strong", "", line);
  write(word, `${urgencies[alert.urgency] || alert.urgency}: `);
  line.append(alert.sentence);
  write(make("div", "", line), alert.action);
  const seen = alert.state === "unacknowledged" ? "" : `, ${alert.state}`;
  write(make("div", "small", line), `since ${clock(alert.since)}${seen}`);
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

function showStation(state) {
  const card = cards.get(state.station) || makeCard(state.station);
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
  lines(card.alerts, state.alerts, alertLine);
  card.holdsHeading.hidden = state.holds.length === 0;
  lines(card.holds, state.holds.map((hold) => hold.sentence), write);
  const pulse = state.last_pulse;
  write(card.last, pulse === null ? "" : `Last pulse: ${fixed(pulse.ml, 1)} mL at ${clock(pulse.time)}.`);
  return card;
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
  overview.stations.forEach(showStation);
  byId("daemon").hidden = overview.alerts.length === 0;
  lines(byId("daemon-alerts"), overview.alerts, alertLine);
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
  for (const [name, card] of cards) {
    if (stream !== null && performance.now() - card.lookedAt > kLookBackEveryMs) {
      lookBack(card, name);
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
