"use strict";

// What was: one axis of time that carries pH, temperature, what was given, holds as spans and
// events as marks; today's strip; and the record of events. Times on the axis are seconds since
// 1970.

const kFreshenEveryMs = 60000;
const kAgainAfterMs = 5000; // where it could not be read
const kDay = 86400;
const kSpanLeast = 600;
const kSpanMost = 5 * 365 * kDay;
const kAxisWidth = 56;
const kChartHeight = 150;

const kSpans = [
  [3600, "1 h"],
  [6 * 3600, "6 h"],
  [kDay, "day"],
  [7 * kDay, "week"],
  [30 * kDay, "month"],
  [365 * kDay, "year"],
  [kSpanMost, "5 years"],
];

const epoch = (iso) => Date.parse(iso) / 1000;
const iso = (seconds) => new Date(1000 * Math.floor(seconds)).toISOString().replace(/\.\d+Z$/, "Z");

async function ask(path) {
  const answer = await fetch(path);
  const body = await answer.json();
  if (!answer.ok) {
    throw new Error(body.detail);
  }
  return body;
}

function colour(name) {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

// A part of an axis as a share of it.
function place(element, view, from, until) {
  const share = (at) => (100 * (Math.min(Math.max(at, view.from), view.until) - view.from)) / (view.until - view.from);
  // What begins just now is still to be seen.
  element.style.left = `min(${share(from)}%, calc(100% - 3px))`;
  element.style.width = `${share(until) - share(from)}%`;
}

function spanWords(from, until) {
  return until === null ? `since ${clock(from)}` : `${clock(from)} to ${clock(until)}, ${duration(epoch(until) - epoch(from))}`;
}

// Eighteen hours back and six ahead, as limewater is: stirred, settling or clear; with its pulses.
class Day {
  constructor(root) {
    write(make("h3", "", root), "Stirs, clear water and pulses");
    this.strip = make("div", "strip", root);
    this.strip.setAttribute("role", "img");
    const scale = make("div", "scale small", root);
    for (const word of ["18 h ago", "now", "in 6 h"]) {
      write(make("span", "", scale), word);
    }
    this.words = make("p", "small", root);
    this.legend = make("p", "legend small", root);
    for (const [kind, word] of [
      ["stirrer-running", "stirred"],
      ["settling", "settling"],
      ["pulse", "a pulse"],
      ["to-come", "to come"],
    ]) {
      make("span", `key ${kind}`, this.legend);
      this.legend.append(` ${word} `);
    }
    this.key = "";
  }

  // `now` by the daemon's clock.
  show(state, newest, now) {
    const pulse = state.last_pulse;
    const words = [
      pulse === null ? "" : `Last pulse: ${fixed(pulse.ml, 1)} mL at ${clock(pulse.time)}.`,
      state.next_stir_s > 0 ? `The reactor is stirred next in ${duration(state.next_stir_s)}.` : "The reactor is stirred now, or as soon as it may be.",
      state.next_window_s === null ? "" : `Clear after that in ${duration(state.next_window_s)}.`,
    ];
    write(this.words, words.filter((one) => one !== "").join(" "));
    this.strip.setAttribute("aria-label", this.words.textContent);
    // Drawn anew each half minute, and when the record is.
    const key = `${Math.floor(now / 30)} ${newest === null ? "" : newest.readAt}`;
    if (newest !== null && key !== this.key) {
      this.key = key;
      this.draw(state, newest, now);
    }
  }

  draw(state, newest, now) {
    const view = { from: now - 18 * 3600, until: now + 6 * 3600 };
    this.strip.replaceChildren();
    const put = (kind, from, until) => place(make("span", kind, this.strip), view, from, until);
    for (const hold of newest.told.holds) {
      if (hold.code === "settling" || hold.code === "stirrer-running") {
        put(hold.code, epoch(hold.since), hold.until === null ? now : epoch(hold.until));
      }
    }
    for (const event of newest.told.events) {
      if (event.code === "pulse-given") {
        put("pulse", epoch(event.time), epoch(event.time));
      }
    }
    put("to-come", now, view.until);
    if (state.next_window_s !== null && state.next_stir_s > 0) {
      put("settling ahead", now + state.next_stir_s, now + state.next_window_s);
    }
    if (state.next_pulse_s !== null) {
      put("pulse ahead", now + state.next_pulse_s, now + state.next_pulse_s);
    }
    put("present", now, now);
  }
}

class Past {
  constructor(name, id, root, state, time) {
    this.name = name;
    this.newest = null; // what was told in the last day, for today's strip
    this.due = Infinity; // by performance.now(): when it is read anew
    this.back = kDay;
    this.until = null; // null: up to now
    this.asked = 0;
    this.live(state, time);
    write(make("h3", "", root), "What was");
    this.makeButtons(root);
    this.problem = make("p", "action", root);
    this.charts = {};
    this.figures = make("div", "figures", root);
    for (const [key, title] of [
      ["ph", "pH"],
      ["temperature", "temperature, °C"],
      ["given", "limewater given, mL"],
    ]) {
      const figure = make("figure", "", this.figures);
      const caption = make("figcaption", "", figure);
      this.charts[key] = { title, figure, caption, plot: null, at: make("div", "plot", figure) };
    }
    this.lanes = make("div", "lanes", root);
    this.short = make("p", "small", root);
    this.said = make("p", "said", root);
    this.said.setAttribute("role", "status");
    this.makeRecord(root, id);
    this.makeSettings(root);
    new ResizeObserver(() => this.resize()).observe(this.figures);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.look());
    this.look();
  }

  makeButtons(root) {
    const button = (row, word, press) => {
      const one = make("button", "", row);
      one.type = "button";
      write(one, word);
      one.addEventListener("click", press);
      return one;
    };
    const row = make("div", "spans", root);
    row.setAttribute("role", "group");
    row.setAttribute("aria-label", "how far back");
    this.spans = kSpans.map(([seconds, word]) => [seconds, button(row, word, () => this.choose(seconds, null))]);
    const move = make("div", "spans", root);
    move.setAttribute("role", "group");
    move.setAttribute("aria-label", "along the axis");
    button(move, "earlier", () => this.choose(this.back, this.end() - this.back / 2));
    button(move, "later", () => this.choose(this.back, this.end() + this.back / 2));
    button(move, "nearer", () => this.choose(this.back / 2, this.end() - this.back / 4));
    button(move, "wider", () => this.choose(this.back * 2, this.end() + this.back / 2));
    button(move, "to now", () => this.choose(this.back, null));
  }

  end() {
    return this.until === null ? this.now() : this.until;
  }

  choose(back, until) {
    this.back = Math.min(Math.max(back, kSpanLeast), kSpanMost);
    // What lies ahead is not written down yet.
    this.until = until === null || until >= this.now() ? null : until;
    this.look();
  }

  // By the daemon's clock: a tablet's may be wrong.
  now() {
    return this.heard + (performance.now() - this.heardAt) / 1000;
  }

  live(state, time) {
    this.state = state;
    this.heard = epoch(time);
    this.heardAt = performance.now();
  }

  freshen() {
    if (performance.now() > this.due) {
      this.look();
    }
  }

  async look() {
    const asked = ++this.asked;
    this.due = Infinity;
    for (const [seconds, one] of this.spans) {
      one.setAttribute("aria-pressed", String(this.until === null && seconds === this.back));
    }
    const now = this.now();
    const view = { from: this.end() - this.back, until: this.end() };
    const query = (from, until) => `station=${this.name}&from=${iso(from)}&until=${iso(until)}`;
    const isDay = this.until === null && this.back === kDay;
    try {
      const [course, told, day] = await Promise.all([
        ask(`/api/history?${query(view.from, view.until)}`),
        ask(`/api/events?${query(view.from, view.until)}`),
        isDay ? null : ask(`/api/events?${query(now - kDay, now)}`),
      ]);
      if (asked !== this.asked) {
        return; // another span was asked for meanwhile
      }
      write(this.problem, "");
      this.newest = { readAt: performance.now(), told: isDay ? told : day };
      this.view = view;
      this.due = this.until === null ? performance.now() + kFreshenEveryMs : Infinity;
      this.draw(course);
      this.drawLanes(told);
      this.showRecord(told);
    } catch (error) {
      if (asked === this.asked) {
        this.due = performance.now() + kAgainAfterMs;
        write(this.problem, error instanceof TypeError ? "What was can't be shown: the daemon does not answer." : error.message);
      }
    }
  }

  draw(course) {
    const begin = epoch(course.from);
    const at = course.ph_mean.map((_, i) => begin + (i + 0.5) * course.step_s);
    const filled = (value) => at.map(() => value);
    const lines = [];
    const state = this.state;
    if (state.ph_ceiling !== null) {
      lines.push(["ceiling", state.ph_ceiling]);
    }
    if (state.reference_ph !== null) {
      lines.push(["reference", state.reference_ph]);
    }
    const usual = course.ph_usual_low.some((low) => low !== null) ? [course.ph_usual_high, course.ph_usual_low] : [];
    this.plot(this.charts.ph, [at, course.ph_high, course.ph_low, course.ph_mean, ...lines.map(([, value]) => filled(value)), ...usual], {
      decimals: 2,
      least: 0.2,
      band: true,
      usual: usual.length > 0,
      lines: lines.map(([word]) => word),
    });
    this.plot(this.charts.temperature, [at, course.temperature_high_c, course.temperature_low_c, course.temperature_c], { decimals: 1, least: 2, band: true, lines: [] });
    this.plot(this.charts.given, [at, course.given_ml], { decimals: 0, least: 10, lines: [], bars: true });
  }

  plot(chart, data, { decimals, least, band, usual, bars, lines }) {
    const known = data.slice(1, band ? 4 : 2).flat().filter((value) => value !== null);
    let caption = `${chart.title}: nothing was recorded`;
    if (known.length > 0) {
      const low = Math.min(...known);
      const high = Math.max(...known);
      caption = bars
        ? `${chart.title}: ${known.reduce((sum, value) => sum + value, 0).toFixed(decimals)} in all`
        : `${chart.title}: lowest ${low.toFixed(decimals)}, highest ${high.toFixed(decimals)}`;
      caption += lines.map((word, i) => `; ${word} ${data[4 + i][0].toFixed(decimals)} (dashed)`).join("");
      caption += usual ? "; usual at that time of day (shaded)" : "";
    }
    write(chart.caption, caption);
    chart.figure.setAttribute("aria-label", caption);
    if (chart.plot !== null) {
      chart.plot.destroy();
    }
    // One step alone, between two of which nothing is known, is a dot.
    const alone = (plot, column) => {
      const values = plot.data[column];
      return [...values.keys()].filter((i) => values[i] !== null && (values[i - 1] ?? null) === null && (values[i + 1] ?? null) === null);
    };
    const line = { stroke: colour("--text"), width: 1.5, points: { show: true, size: 4, filter: alone } };
    const faint = { stroke: "transparent", points: { show: false } };
    const dashed = { stroke: colour("--second"), width: 1, dash: [6, 4], points: { show: false } };
    const series = band ? [{}, faint, faint, line, ...lines.map(() => dashed), ...(usual ? [faint, faint] : [])] : [{}, line];
    const bands = band ? [{ series: [1, 2], fill: colour("--band") }] : [];
    if (usual) {
      bands.unshift({ series: [series.length - 2, series.length - 1], fill: colour("--usual") });
    }
    if (bars) {
      series[1] = { stroke: colour("--text"), fill: colour("--line"), points: { show: false }, paths: uPlot.paths.bars({ size: [1, Infinity] }) };
    }
    const axis = { stroke: colour("--second"), grid: { stroke: colour("--ground"), width: 1 }, ticks: { stroke: colour("--line") } };
    chart.plot = new uPlot(
      {
        width: Math.max(this.figures.clientWidth, 200),
        height: kChartHeight,
        padding: [8, 8, 0, 0],
        legend: { show: false },
        cursor: { sync: { key: this.name }, drag: { x: true, y: false, setScale: false }, y: false },
        scales: {
          x: { time: true, range: () => [this.view.from, this.view.until] },
          y: { range: (_, low, high) => (low === null ? [0, 1] : bars ? [0, Math.max(high, least)] : this.room(low, high, least)) },
        },
        bands,
        axes: [{ ...axis, values: (_, ticks) => this.times(ticks) }, { ...axis, size: kAxisWidth, values: (_, ticks) => ticks.map((tick) => tick.toFixed(bars ? 0 : decimals)) }],
        series,
        hooks: {
          setSelect: [(plot) => this.selected(plot)],
          setCursor: [(plot) => this.underCursor(plot)],
        },
      },
      data,
      chart.at,
    );
    chart.decimals = decimals;
    chart.usual = usual;
  }

  room(low, high, least) {
    const more = Math.max(0, least - (high - low)) / 2 + 0.05 * least;
    return [low - more, high + more];
  }

  // As this browser's land writes them.
  times(ticks) {
    const long = this.view.until - this.view.from;
    const how = long <= 2 * kDay ? { timeStyle: "short" } : long <= 60 * kDay ? { day: "numeric", month: "short" } : { month: "short", year: "numeric" };
    return ticks.map((tick) => new Intl.DateTimeFormat(undefined, how).format(new Date(1000 * tick)));
  }

  selected(plot) {
    if (plot.select.width < 8) {
      return;
    }
    const from = plot.posToVal(plot.select.left, "x");
    const until = plot.posToVal(plot.select.left + plot.select.width, "x");
    plot.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
    this.choose(until - from, until);
  }

  underCursor(plot) {
    const i = plot.cursor.idx;
    if (plot !== this.charts.ph.plot || i === null || i === undefined) {
      return;
    }
    const value = (chart, column, unit) => {
      const seen = chart.plot === null ? null : chart.plot.data[column][i];
      return seen === null || seen === undefined ? null : `${seen.toFixed(chart.decimals)}${unit}`;
    };
    const parts = [clock(new Date(1000 * plot.data[0][i]).toISOString())];
    parts.push(`pH ${value(this.charts.ph, 3, "") || "unknown"}`);
    const usual = this.charts.ph.usual ? [plot.data.length - 1, plot.data.length - 2].map((column) => value(this.charts.ph, column, "")) : [null];
    if (usual[0] !== null) {
      parts.push(`usually ${usual[0]} to ${usual[1]}`);
    }
    parts.push(value(this.charts.temperature, 3, " °C") || "temperature unknown");
    const given = value(this.charts.given, 1, " mL");
    parts.push(given === null ? "given: unknown" : `${given} given`);
    write(this.said, parts.join(", "));
  }

  // A lane for each hold, a span for each time that it stood.
  drawHolds(told) {
    const lanes = new Map();
    for (const hold of told.holds) {
      if (!lanes.has(hold.code)) {
        lanes.set(hold.code, []);
      }
      lanes.get(hold.code).push({
        from: epoch(hold.since),
        until: hold.until === null ? this.view.until : epoch(hold.until),
        words: `${hold.sentence} (${hold.code}, ${spanWords(hold.since, hold.until)})`,
      });
    }
    for (const [code, times] of lanes) {
      this.lane(code, times);
    }
    write(this.short, told.short_holds === 0 ? "" : `${told.short_holds} holds are too short to be seen here: come nearer.`);
  }

  drawMarks(told) {
    const worth = told.events.filter((event) => event.severity !== "info" && !event.code.startsWith("held-"));
    const times = worth.reverse().map((event) => ({
      from: epoch(event.time),
      until: epoch(event.time),
      words: `${clock(event.time)}: ${event.sentence}`,
      severity: event.severity,
    }));
    if (times.length > 0) {
      this.lane("events", times);
    }
  }

  // One button: a click says what stood there, arrows go from one time to the next.
  lane(word, times) {
    const lane = make("div", "lane", this.lanes);
    write(make("span", "small", lane), word);
    const track = make("button", "track", lane);
    track.type = "button";
    track.dataset.word = word;
    track.setAttribute("aria-label", `${word}, ${times.length} in this span: arrow keys go through them`);
    const spans = times.map((time) => {
      const span = make("span", time.severity ? "mark" : "span", track);
      span.dataset.severity = time.severity || "";
      write(span, time.severity === undefined ? "" : time.severity === "alert" ? "!" : "·");
      place(span, this.view, time.from, time.until);
      return span;
    });
    const say = (i) => {
      spans.forEach((span, other) => span.classList.toggle("chosen", other === i));
      this.chosen = { word, i };
      write(this.said, times[i].words);
    };
    track.addEventListener("click", (event) => {
      const box = track.getBoundingClientRect();
      const at = this.view.from + ((event.clientX - box.left) / box.width) * (this.view.until - this.view.from);
      const far = (time) => Math.max(time.from - at, at - time.until, 0);
      // Pressed by a key it is no place: the newest.
      say(event.detail === 0 ? times.length - 1 : times.reduce((best, time, i) => (far(time) <= far(times[best]) ? i : best), 0));
    });
    track.addEventListener("keydown", (event) => {
      const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
      if (step !== undefined) {
        event.preventDefault();
        const now = this.chosen !== null && this.chosen.word === word ? this.chosen.i + step : times.length - 1;
        say(Math.min(Math.max(now, 0), times.length - 1));
      }
    });
  }

  // Drawn anew each minute: who goes through a lane stays there.
  drawLanes(told) {
    const word = document.activeElement.dataset.word;
    const mine = this.lanes.contains(document.activeElement);
    this.chosen = null;
    this.lanes.replaceChildren();
    this.drawHolds(told);
    this.drawMarks(told);
    if (mine) {
      [...this.lanes.querySelectorAll(".track")].find((track) => track.dataset.word === word)?.focus();
    }
  }

  makeRecord(root, id) {
    const details = make("details", "", root);
    write(make("summary", "", details), "Record of events in this span");
    const label = make("label", "", details);
    label.append("Only lines with ");
    this.search = make("input", "", label);
    this.search.type = "search";
    this.search.id = `${id}-search`;
    this.search.addEventListener("input", () => this.filter());
    this.found = make("p", "small", details);
    this.found.setAttribute("role", "status");
    this.record = make("ul", "record", details);
  }

  // What the owner's file comes to; asked for when it is opened.
  makeSettings(root) {
    const details = make("details", "settings", root);
    write(make("summary", "", details), "Settings, as they are checked");
    const text = make("pre", "small", details);
    text.tabIndex = 0;
    details.addEventListener("toggle", async () => {
      if (details.open) {
        try {
          write(text, (await ask("/api/settings"))[this.name] || "There is nothing of this station.");
        } catch {
          write(text, "The settings can't be shown: the daemon does not answer.");
        }
      }
    });
  }

  showRecord(told) {
    lines(this.record, told.events, (line, event) => {
      line.dataset.severity = event.severity;
      write(make("span", "small", line), clock(event.time));
      line.append(` ${event.severity === "info" ? "" : `${event.severity}: `}${event.sentence}`);
    });
    this.olderEvents = told.older_events;
    this.filter();
  }

  filter() {
    const word = this.search.value.toLocaleLowerCase();
    let shown = 0;
    for (const line of this.record.children) {
      line.hidden = !line.textContent.toLocaleLowerCase().includes(word);
      shown += line.hidden ? 0 : 1;
    }
    write(this.found, `${shown} of ${this.record.children.length} lines.${this.olderEvents ? " There are older ones in this span: come nearer, or go earlier." : ""}`);
  }

  resize() {
    for (const { plot } of Object.values(this.charts)) {
      if (plot !== null) {
        plot.setSize({ width: Math.max(this.figures.clientWidth, 200), height: kChartHeight });
      }
    }
  }
}
