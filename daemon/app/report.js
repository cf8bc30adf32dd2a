"use strict";
// Draws what the JSON beside each section holds. Times are hours since the start.
const clock = (hours) => {
  const minutes = Math.round(hours * 60);
  const two = (n) => String(n).padStart(2, "0");
  return `day ${Math.floor(minutes / 1440) + 1}, ${two(Math.floor(minutes / 60) % 24)}:${two(minutes % 60)}`;
};

const add = (parent, tag, attributes, text) => {
  const element = tag === "svg" || tag === "rect"
    ? document.createElementNS("http://www.w3.org/2000/svg", tag) : document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  if (text !== undefined) element.textContent = text;
  parent.append(element);
  return element;
};

const styles = getComputedStyle(document.documentElement);
const color = (name) => styles.getPropertyValue(name).trim();

const chart = (place, faults, title, rows, labels, options) => {
  add(place, "h3", {}, title);
  const box = add(place, "div", { class: "chart", role: "img", "aria-label": title });
  return new Dygraph(box, rows, {
    labels: ["time", ...labels], legend: "always", gridLineColor: color("--line"), axisLineColor: color("--line"),
    // Whatever lies below a chart shares its edges.
    drawCallback: (graph) => {
      const area = graph.getArea();
      place.style.setProperty("--plot-left", `${area.x}px`);
      place.style.setProperty("--plot-width", `${area.w}px`);
    },
    // What went wrong on purpose is shaded.
    underlayCallback: (canvas, area, graph) => {
      canvas.fillStyle = color("--warn");
      canvas.globalAlpha = 0.15;
      for (const { from, to } of faults) {
        const left = graph.toDomXCoord(from);
        canvas.fillRect(left, area.y, Math.max(graph.toDomXCoord(to) - left, 2), area.h);
      }
      canvas.globalAlpha = 1;
    },
    strokeWidth: 1.5, digitsAfterDecimal: 3, animatedZooms: false,
    axes: { x: { axisLabelFormatter: clock, valueFormatter: clock, pixelsPerLabel: 110 } }, ...options,
  });
};

/// One line of what lasted when: [from, to, share] in hours and 0..1.
const strip = (place, name, spans, hours, kind) => {
  const total = spans.reduce((sum, [from, to, share]) => sum + (to - from) * share, 0);
  const row = add(place, "div", { class: "row" });
  add(row, "span", {}, `${name}: ${total.toFixed(1)} h`);
  const svg = add(row, "svg", { class: `strip ${kind}`, viewBox: `0 0 ${hours} 1`, preserveAspectRatio: "none",
    role: "img", "aria-label": name });
  for (const [from, to, share] of spans) {
    add(svg, "rect", { x: from, y: 1 - share, width: Math.max(to - from, hours / 800), height: share });
  }
};

const spans_of = (shares, step) => {
  const spans = [];
  shares.forEach((share, i) => {
    const last = spans[spans.length - 1];
    if (share === 0) return;
    if (last && last[1] === i * step && last[2] === share) last[1] = (i + 1) * step;
    else spans.push([i * step, (i + 1) * step, share]);
  });
  return spans;
};

for (const section of document.querySelectorAll("section")) {
  const data = JSON.parse(section.querySelector("script").textContent);
  const place = section.querySelector(".charts");
  const mark = color("--mark"), warn = color("--warn"), ink = color("--ink");
  const band = (low, high) => [low, low === null ? null : (low + high) / 2, high];
  chart(place, data.faults, "pH at the probe", data.points.map((p) => [p[0], band(p[3], p[4]), band(p[1], p[2]),
    [data.ceiling, data.ceiling, data.ceiling]]), ["as the probe shows it", "in the water", "ceiling"],
    { customBars: true, colors: [warn, mark, ink], fillAlpha: 0.25, valueRange: null,
      series: { "as the probe shows it": { strokePattern: [3, 3] }, "ceiling": { strokePattern: [6, 4], strokeWidth: 1 } } });
  chart(place, data.faults, "Limewater, mL an hour", data.points.map((p) => [p[0], p[5]]), ["mL an hour"],
    { stepPlot: true, fillGraph: true, colors: [mark], includeZero: true });
  chart(place, data.faults, "Limewater in all, mL", data.points.map((p) => [p[0], p[6], p[0] / 24 * data.day_volume_ml]),
    ["truly given", "planned"], { colors: [mark, ink], series: { "planned": { strokePattern: [6, 4] } } });
  chart(place, data.faults, "Powder in the reactor, g", data.points.map((p) => [p[0], p[7]]), ["g"],
    { colors: [mark], includeZero: true });
  add(place, "h3", {}, `What stood when, ${clock(0)} to ${clock(data.hours)}`);
  for (const fault of data.faults) {
    strip(place, `fault: ${fault.name}`, [[fault.from, Math.min(fault.to, data.hours), 1]], data.hours, "fault");
  }
  for (const { name, shares } of data.strips) strip(place, name, spans_of(shares, data.step_h), data.hours, "");
  section.dataset.drawn = data.points.length;
}
