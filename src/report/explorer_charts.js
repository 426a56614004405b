// Charts of the explorer: one lane for each group, drawn as SVG, that answer to pointer and keyboard.

const LANE = 46;
const HEADING = 26;
const TOP = 6;
const FOOT = 26;
const EDGE = 12;
/** Between two numbers on the ruler. */
const ROOM = 42;

/** An SVG element; the name space is taken from the page's own drawing. */
function mark(kind, attributes, text) {
  const space = document.querySelector("#explore-ruler").namespaceURI;
  const element = document.createElementNS(space, kind);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  if (text !== undefined) element.textContent = text;
  return element;
}

/** A dot for a group, a diamond for everybody. */
function dot(x, y, everybody, hollow) {
  const cls = `dot${everybody ? " everybody" : ""}${hollow ? " hollow" : ""}`;
  return everybody
    ? mark("path", { class: cls, d: `M${x},${y - 7}l7,7l-7,7l-7,-7z` })
    : mark("circle", { class: cls, cx: x, cy: y, r: 5.5 });
}

/** Estimate and interval of one lane, or nothing when withheld. */
function drawEstimate(lane, found, scale, y, everybody) {
  if (found.why) return;
  if (found.lower !== null && found.lower !== undefined) {
    const cls = everybody ? "span everybody" : "span";
    lane.append(mark("line", { class: cls, x1: scale(found.lower), x2: scale(found.upper), y1: y, y2: y }));
  }
  lane.append(dot(scale(found.value), y, everybody));
}

function drawLane(panel, row, { reached, top, width, scale }) {
  const found = panel.pick(row);
  const y = top + 31;
  const label = `${row.called}: ${panel.says(row)}`;
  const lane = mark("g", { class: "lane", role: "img", tabindex: reached ? 0 : -1, "aria-label": label });
  lane.append(
    mark("rect", { class: "hit", x: 1, y: top, width: width - 2, height: LANE - 2, rx: 4 }),
    mark("text", { x: EDGE, y: top + 15 }, row.label),
    mark("text", { class: "value", x: width - EDGE, y: top + 15 }, found.why ? "withheld" : panel.write(found.value, row)),
    mark("line", { class: "track", x1: EDGE, x2: width - EDGE, y1: y, y2: y }),
  );
  drawEstimate(lane, found, scale, y, row.everybody);
  return lane;
}

/** The scale's numbers under the lanes, and its lines beside each lane's track, clear of the words above it. */
function drawAxis(svg, panel, { scale, height, width, places }) {
  const line = (cls, at) => {
    const x = scale(at);
    for (const { top } of places) svg.append(mark("line", { class: cls, x1: x, x2: x, y1: top + 21, y2: top + LANE - 4 }));
  };
  const ticks = typeof panel.ticks === "function" ? panel.ticks(scale) : panel.ticks;
  for (const tick of ticks) {
    line("grid", tick.at);
    const x = scale(tick.at);
    const anchor = x < 2 * EDGE ? "start" : x > width - 2 * EDGE ? "end" : "middle";
    svg.append(mark("text", { class: "tick", x, y: height - 8, "text-anchor": anchor }, tick.text));
  }
  if (panel.line !== undefined) line(panel.lineClass, panel.line);
}

/** Tops of the lanes: with several groupings, each has its name above its groups. */
function placeLanes(rows) {
  const several = new Set(rows.map((row) => row.grouping)).size > 2;
  let top = TOP;
  return rows.map((row, position) => {
    const first = several && !row.everybody && rows[position - 1]?.grouping !== row.grouping;
    if (first) top += HEADING;
    top += LANE;
    return { top: top - LANE, heading: first ? row.by : "" };
  });
}

function drawPanel(svg, panel, rows) {
  const width = Math.max(220, Math.round(svg.parentElement.clientWidth));
  const places = placeLanes(rows);
  const height = places[places.length - 1].top + LANE + FOOT;
  const [from, end] = panel.domain;
  const to = Math.max(end, from + 1);
  const inside = (value) => Math.min(Math.max((value - from) / (to - from), 0), 1);
  const scale = (value) => Math.round((EDGE + inside(value) * (width - 2 * EDGE)) * 10) / 10;
  const before = [...svg.querySelectorAll(".lane")];
  const focused = before.indexOf(document.activeElement);
  const stop = Math.min(Math.max(before.findIndex((lane) => lane.getAttribute("tabindex") === "0"), 0), rows.length - 1);
  svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
  svg.replaceChildren();
  drawAxis(svg, panel, { scale, height, width, places });
  rows.forEach((row, position) => {
    const { top, heading } = places[position];
    if (heading) svg.append(mark("text", { class: "heading", x: EDGE, y: top - 5 }, heading));
    svg.append(drawLane(panel, row, { reached: position === stop, top, width, scale }));
  });
  const lanes = [...svg.querySelectorAll(".lane")];
  lanes.forEach((lane, position) => answer(lane, lanes, position));
  if (focused >= 0) lanes[Math.min(focused, lanes.length - 1)].focus();
}

/** Pointer and keyboard bring up the lane's numbers; arrows go from lane to lane. */
function answer(lane, lanes, position) {
  const show = () => showTip(lane, lane.getAttribute("aria-label"));
  lane.addEventListener("pointerenter", show);
  lane.addEventListener("pointerleave", hideTip);
  lane.addEventListener("focus", show);
  lane.addEventListener("blur", hideTip);
  lane.addEventListener("keydown", (event) => {
    if (event.key === "Escape") hideTip();
    const goal = { ArrowDown: position + 1, ArrowUp: position - 1, Home: 0, End: lanes.length - 1 }[event.key];
    if (goal === undefined || !lanes[goal]) return;
    event.preventDefault();
    lanes.forEach((other) => other.setAttribute("tabindex", -1));
    lanes[goal].setAttribute("tabindex", 0);
    lanes[goal].focus();
  });
}

function showTip(lane, text) {
  const tip = document.querySelector("#explore-tip");
  const box = lane.getBoundingClientRect();
  tip.textContent = text;
  tip.hidden = false;
  const left = Math.min(Math.max(box.left, 8), document.documentElement.clientWidth - tip.offsetWidth - 8);
  const above = box.top - tip.offsetHeight - 6;
  tip.style.left = `${left + window.scrollX}px`;
  tip.style.top = `${(above > 0 ? above : box.bottom + 6) + window.scrollY}px`;
}

function hideTip() {
  document.querySelector("#explore-tip").hidden = true;
}

/** Multiples of 1, 2 and 5 times powers of ten within a range: the roundest first, together with those that are as round. */
function roundNumbers(from, to) {
  const [levels, known] = [[], new Set()];
  let exponent = Math.ceil(Math.log10(Math.max(Math.abs(from), Math.abs(to))));
  while (known.size < 40 && exponent > -9) {
    for (const figure of [10, 5, 2, 1]) {
      const step = figure * 10 ** (exponent - 1);
      const level = [];
      for (let times = Math.ceil(from / step); times * step <= to && known.size < 200; times += 1) {
        const value = Number((times * step).toPrecision(12));
        if (!known.has(value)) level.push(value);
        known.add(value);
      }
      levels.push(level);
    }
    exponent -= 1;
  }
  return levels;
}

/** Numbers that are written along a scale of an index's thresholds: first those given, then the roundest that have room. Where a round
    number has none, no less round one near it stands in for it. */
function scaleNumbers(index, x, first) {
  const near = (list, value) => list.some((other) => Math.abs(x(other) - x(value)) < ROOM);
  const [written, passed] = [[], []];
  for (const value of first) if (!near(written, value)) written.push(value);
  for (const level of roundNumbers(index.at[0], index.at[index.at.length - 1])) {
    const fit = level.filter((value) => !near(passed, value));
    for (const value of fit) if (!near(written, value)) written.push(value);
    passed.push(...level.filter((value) => !written.includes(value)));
  }
  return written;
}

/** The ruler over the slider: tested thresholds, everybody's and each group's own cutoff. */
function drawRuler(svg, index, rows, view) {
  const width = Math.max(220, Math.round(svg.parentElement.clientWidth));
  const inset = 14;
  const x = (value) => inset + along(index.at, value) * (width - 2 * inset);
  const write = valueWriter(index);
  svg.setAttribute("viewBox", `0 0 ${width} 62`);
  svg.replaceChildren(mark("line", { class: "track", x1: inset, x2: width - inset, y1: 40, y2: 40 }));
  for (const value of index.at) {
    const tested = index.tested.includes(value);
    svg.append(mark("line", { class: tested ? "tested" : "notch", x1: x(value), x2: x(value), y1: tested ? 30 : 36, y2: 40 }));
  }
  for (const value of scaleNumbers(index, x, index.tested)) {
    svg.append(mark("text", { class: "tick", x: x(value), y: 57, "text-anchor": "middle" }, write(value)));
  }
  const shown = rows.filter((row) => row.cutoff.value !== undefined).reverse();
  for (const row of shown) svg.append(dot(x(row.cutoff.value), 18, row.everybody, !row.everybody));
  const here = x(index.at[view.place]);
  svg.append(mark("line", { class: "threshold", x1: here, x2: here, y1: 2, y2: 44 }));
}
