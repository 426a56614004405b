// The explorer: choices in, drawings, words and table out. The address keeps the view.

const byId = (id) => document.getElementById(id);
const WAIT_BEFORE_SPEAKING = 250;

/** A panel of shares, from 0 to 100 %. */
const sharePanel = (id, pick, rows, people) => ({
  id,
  pick,
  write: percent,
  says: (row) => `${withInterval(pick(row), (value) => `${percent(value)} %`)}${pick(row).why ? "" : `; n = ${whole(people(row))}`}`,
  domain: [0, 100],
  ticks: [0, 25, 50, 75, 100].map((at) => ({ at, text: `${at}` })),
  line: pick(rows[0]).value,
  lineClass: "everybody-line",
});

/** Each group's own cutoff on the slider's scale, with the threshold through them. */
function cutoffPanel(index, place) {
  const [write, finely] = [valueWriter(index), cutoffWriter(index)];
  const last = index.at.length - 1;
  const ruler = (value) => (value === null || value === undefined ? null : along(index.at, value) * last);
  return {
    id: "cutoff",
    pick: ({ cutoff: { value, lower, upper, why } }) =>
      why ? { why } : { value: ruler(value), lower: ruler(lower), upper: ruler(upper) },
    write: (_, row) => finely(row.cutoff.value),
    says: (row) => (row.cutoff.why ? row.cutoff.why : withInterval(row.cutoff, finely)),
    domain: [0, last],
    ticks: (scale) => scaleNumbers(index, (value) => scale(ruler(value)), [])
      .map((value) => ({ at: ruler(value), text: write(value) })),
    line: place,
    lineClass: "threshold",
  };
}

/** People whose label changes, to either side of nobody. */
function movedPanel(against, rows) {
  const most = mostMoved(against, rows);
  return {
    id: "moved",
    pick: (row) => row.moved,
    write: (value) => `${value > 0 ? "+" : ""}${percent(value)}`,
    says: (row) => movedWords(row, (value) => `${percent(value)} %`),
    domain: [-most, most],
    ticks: [-most, 0, most].map((at) => ({ at, text: fixed(at, 0) })),
    line: 0,
    lineClass: "zero-line",
  };
}

/** The panels under the slider. */
function panelsOf(grid, view, rows) {
  const index = grid.indices[view.index];
  return [
    sharePanel("beyond", (row) => row.beyond, rows, (row) => row.n),
    cutoffPanel(index, view.place),
    sharePanel("sensitivity", (row) => row.sensitivity, rows, (row) => row.with),
    sharePanel("specificity", (row) => row.specificity, rows, (row) => row.without),
    movedPanel(index.outcomes[view.outcome], rows),
  ];
}

/** Half the width of the scale of people reclassified: the same wherever the slider stands. */
function mostMoved(against, rows) {
  const highest = rows.flatMap((row) => against.moved[row.group][2]).filter((upper) => upper !== null);
  return Math.max(10, Math.ceil(Math.max(0, ...highest) / 10) * 10);
}

const COLUMNS = [
  ["By", (row) => row.by],
  ["Group", (row) => row.label],
  ["n", (row) => whole(row.n)],
  ["% beyond (interval)", (row) => withInterval(row.beyond, percent), (row) => row.beyond],
  ["Sensitivity, %", (row) => ofPeople(row.sensitivity, row.with), (row) => row.sensitivity],
  ["Specificity, %", (row) => ofPeople(row.specificity, row.without), (row) => row.specificity],
  ["Own cutoff", (row, finely) => (row.cutoff.why ? row.cutoff.why : withInterval(row.cutoff, finely)), (row) => row.cutoff],
  ["% reclassified", (row) => movedWords(row), (row) => row.moved],
];

function fillTable(table, grid, view, rows) {
  const finely = cutoffWriter(grid.indices[view.index]);
  const head = [...table.tHead.rows[0].cells];
  const sorted = head.findIndex((cell) => cell.hasAttribute("aria-sort"));
  table.tBodies[0].replaceChildren(...rows.map((row) => {
    const line = document.createElement("tr");
    for (const [name, text, pick] of COLUMNS) {
      const cell = line.insertCell();
      cell.dataset.of = name;
      setText(cell, text(row, finely));
      if (pick) cell.className = pick(row).why ? "withheld" : "number";
    }
    line.cells[2].className = "number";
    // On a narrow screen the table is set as blocks, which would else be no table to a screen reader.
    line.setAttribute("role", "row");
    for (const cell of line.cells) cell.setAttribute("role", "cell");
    return line;
  }));
  if (sorted >= 0) sortTable(table, sorted, head[sorted].getAttribute("aria-sort") === "descending");
}

/** The rows behind the table, for a file: columns are those of threshold_grid.csv, and the cutoff's interval. Shares are in per cent,
    as on the screen, and their columns say so: a saved file has no description beside it. */
function fileRows(grid, view) {
  const index = grid.indices[view.index];
  const four = (name, unit = "", value = name) => [`${value}${unit}`, `${name}_lower${unit}`, `${name}_upper${unit}`, `${name}_withheld`];
  const share = (name, value = name) => four(name, "_percent", value);
  const number = (value) => (value === null || value === undefined ? "" : Number(value.toPrecision(12)));
  const cells = ({ value, lower, upper, why }) => [...[value, lower, upper].map(number), why ?? ""];
  const heading = ["survey", "index", "unit", "outcome", "rule", "grouping", "group", "threshold", "n", ...share("share", "share_beyond"),
    "n_with", ...share("sensitivity"), "n_without", ...share("specificity"), ...four("cutoff"), "moved", ...share("reclassified")];
  const lines = groupsOf(grid, view).map((group) => groupAt(grid, view, group)).map((row) => [
    grid.survey, index.name, index.unit_of_file, grid.outcomes[view.outcome][0], grid.rule,
    grid.groupings[row.grouping][0], row.label, index.at[view.place], row.n ?? "", ...cells(row.beyond),
    row.with ?? "", ...cells(row.sensitivity), row.without ?? "", ...cells(row.specificity),
    ...cells(row.cutoff), row.way, ...cells(row.reclassified),
  ]);
  return [heading, ...lines];
}

function options(select, names) {
  select.replaceChildren(...names.map((name, position) => new Option(name, position)));
}

/** The single variable across whose groups the share beyond differs most. */
function widestGrouping(grid, view) {
  const width = (by) => {
    const rows = groupsOf(grid, { ...view, by: [by] }).map((group) => groupAt(grid, view, group));
    const found = ends(rows, (row) => row.beyond);
    return found ? found[1].beyond.value - found[0].beyond.value : -1;
  };
  const single = grid.groupings.map((_, position) => position).slice(1)
    .filter((position) => !grid.groupings[position][0].includes(" × "));
  return single.sort((a, b) => width(b) - width(a))[0];
}

/**
 * Where an index starts: at the study's first threshold whose numbers of everybody are shown; else at its first, at everybody's
 * cutoff, or the nearest place to it where they are.
 */
function startOf(index, outcome) {
  const { sensitivity, specificity, cutoff } = index.outcomes[outcome];
  const shown = (series) => (place) => series.every(([values]) => values[place] >= 0);
  const tested = index.tested.map((value) => nearest(index.at, value));
  const wanted = tested[0] ?? nearest(index.at, cutoff[0] ?? index.at[index.at.length >> 1]);
  const around = index.at.map((_, place) => place).sort((a, b) => Math.abs(a - wanted) - Math.abs(b - wanted));
  const tries = [...tested, ...around];
  const all = shown([index.beyond[0], sensitivity[0], specificity[0]]);
  return tries.find(all) ?? tries.find(shown([index.beyond[0]])) ?? wanted;
}

function firstView(grid) {
  const index = Math.max(grid.indices.findIndex((known) => known.tested.length), 0);
  const view = { index, outcome: 0, place: startOf(grid.indices[index], 0), by: [] };
  const widest = widestGrouping(grid, view);
  return { ...view, by: widest === undefined ? [] : [widest] };
}

/** `#explore?index=homa_ir&outcome=…&at=2&by=sex,bmi_class` and back; with `sample=…` where there are several. */
function addressOf(grid, view) {
  const words = new URLSearchParams({
    ...(grid.several ? { sample: grid.survey } : {}),
    index: grid.indices[view.index].name,
    outcome: grid.outcomes[view.outcome][0],
    at: grid.indices[view.index].at[view.place],
    by: view.by.map((position) => grid.groupings[position][0]).join(","),
  });
  return `#explore?${words}`;
}

function viewFrom(grid, hash) {
  if (!hash.startsWith("#explore?")) return null;
  const words = new URLSearchParams(hash.slice("#explore?".length));
  const position = (list, name) => Math.max(list.findIndex((known) => known === name), 0);
  const index = position(grid.indices.map((known) => known.name), words.get("index"));
  const outcome = position(grid.outcomes.map(([name]) => name), words.get("outcome"));
  const at = Number.parseFloat(words.get("at"));
  const known = grid.indices[index].at;
  const asked = (words.get("by") || "").split(",");
  const by = grid.groupings.map((_, place) => place).slice(1).filter((place) => asked.includes(grid.groupings[place][0]));
  return { index, outcome, place: Number.isNaN(at) ? startOf(grid.indices[index], outcome) : nearest(known, at), by };
}

/** The sample that an address names, else the first. */
function sampleOf(samples, hash) {
  const wanted = new URLSearchParams(hash.split("?")[1] || "").get("sample");
  return samples.find((sample) => sample.survey === wanted) || samples[0];
}

/** Wires the controls to a view and draws it after every change. */
function explore({ samples }) {
  samples.forEach((sample) => { sample.several = samples.length > 1; });
  let grid = sampleOf(samples, location.hash);
  let view = viewFrom(grid, location.hash) || firstView(grid);
  let speaking;
  const table = byId("explore-table");
  const change = (part) => {
    view = { ...view, ...part };
    show();
    keepAddress();
  };
  const choose = (sample) => {
    const address = addressOf(grid, view);
    grid = sample;
    view = viewFrom(grid, address);
    fillChoices(grid, change);
    show();
    keepAddress();
  };
  const keepAddress = () => {
    try {
      history.replaceState(null, "", addressOf(grid, view));
    } catch {
      location.hash = addressOf(grid, view);
    }
  };
  const show = () => {
    const rows = groupsOf(grid, view).map((group) => groupAt(grid, view, group));
    showControls(grid, view, change);
    drawRuler(byId("explore-ruler"), grid.indices[view.index], rows, view);
    for (const panel of panelsOf(grid, view, rows)) drawPanel(byId(`explore-${panel.id}`), panel, rows);
    fillTable(table, grid, view, rows);
    clearTimeout(speaking);
    speaking = setTimeout(() => { setText(byId("explore-says"), sentences(grid, view, rows)); }, WAIT_BEFORE_SPEAKING);
  };
  wireControls(() => ({ grid, view }), change);
  wireSamples(samples, choose);
  fillChoices(grid, change);
  makeSortable(table);
  const scroll = table.parentElement;
  const name = () => {
    const index = grid.indices[view.index];
    const sample = grid.several ? `${grid.survey.replace(/[^\p{L}\p{N}]+/gu, "-")}-` : "";
    return `cutspan-${sample}${index.name}-${grid.outcomes[view.outcome][0]}-at-${index.at[view.place]}.csv`;
  };
  addTools(scroll, table, name, () => fileRows(grid, view));
  byId("explore-link").append(...actionButton("Copy a link to this view", async () =>
    (await copyText(location.href.split("#")[0] + addressOf(grid, view))) ? "Copied." : "The browser does not allow it."));
  byId("explorer").hidden = false;
  show();
  setText(byId("explore-says"), sentences(grid, view, groupsOf(grid, view).map((group) => groupAt(grid, view, group))));
  if (location.hash.startsWith("#explore?")) byId("explore").scrollIntoView();
  window.addEventListener("hashchange", () => {
    if (!location.hash.startsWith("#explore?")) return;
    grid = sampleOf(samples, location.hash);
    view = viewFrom(grid, location.hash);
    fillChoices(grid, change);
    show();
  });
  for (const happening of ["resize", "beforeprint", "afterprint"]) window.addEventListener(happening, show);
}

/** What a sample lets one choose: its indices, outcomes and groupings. */
function fillChoices(grid, change) {
  options(byId("explore-index"), grid.indices.map(named));
  options(byId("explore-outcome"), shortLabels(grid.outcomes.map(([, label]) => label)));
  byId("explore-sample").value = grid.survey;
  delete byId("explore-jumps").dataset.choice;
  const boxes = byId("explore-by");
  boxes.querySelectorAll("label").forEach((label) => label.remove());
  grid.groupings.forEach(([, label], position) => {
    if (position === 0) return;
    const box = document.createElement("input");
    box.type = "checkbox";
    box.value = position;
    box.addEventListener("change", () => {
      change({ by: [...boxes.querySelectorAll("input:checked")].map((checked) => Number(checked.value)) });
    });
    const words = document.createElement("label");
    words.append(box, ` ${label}`);
    boxes.append(words);
  });
}

/** The chooser of samples, which a report of one does without. */
function wireSamples(samples, choose) {
  const select = byId("explore-sample");
  select.replaceChildren(...samples.map(({ survey }) => new Option(survey, survey)));
  select.addEventListener("change", () => choose(samples.find(({ survey }) => survey === select.value)));
  byId("explore-samples").hidden = samples.length < 2;
}

function wireControls(now, change) {
  const indexNow = () => now().grid.indices[now().view.index];
  byId("explore-index").addEventListener("change", (event) => {
    const index = Number(event.target.value);
    change({ index, place: startOf(now().grid.indices[index], now().view.outcome) });
  });
  byId("explore-outcome").addEventListener("change", (event) => change({ outcome: Number(event.target.value) }));
  byId("explore-slider").addEventListener("input", (event) => change({ place: Number(event.target.value) }));
  byId("explore-number").addEventListener("change", (event) => {
    const wanted = event.target.valueAsNumber;
    const place = nearest(indexNow().at, wanted);
    change(Number.isNaN(wanted) ? {} : { place });
    sayNearest(indexNow(), wanted, place);
  });
}

/** Says that another threshold than the wanted one is shown: the report holds those of its grid. */
function sayNearest(index, wanted, place) {
  const says = byId("explore-nearest");
  const [write, at] = [valueWriter(index), index.at];
  const found = Number.isNaN(wanted) || wanted === at[place];
  says.textContent = found ? "" : `This part holds ${at.length} thresholds from ${write(at[0])} to ` +
    `${write(at[at.length - 1])}: ${write(at[place])} is shown, the nearest to ${wanted}.`;
}

/** Sets every control to the view. */
function showControls(grid, view, change) {
  const index = grid.indices[view.index];
  const write = valueWriter(index);
  const threshold = index.at[view.place];
  byId("explore-index").value = view.index;
  byId("explore-outcome").value = view.outcome;
  byId("explore-side").textContent = sidesOf(index);
  byId("explore-key-tested").hidden = !index.tested.length;
  const outcome = grid.outcomes[view.outcome][1];
  const shown = byId("explore-outcome").selectedOptions[0].textContent;
  byId("explore-outcome-says").hidden = outcome === shown;
  byId("explore-outcome-says").textContent = outcome === shown ? "" : `Outcome: ${outcome}.`;
  byId("explore-built-in").hidden = !index.outcomes[view.outcome].built_in;
  byId("explore-built-in").textContent = `The outcome counts a part of ${index.label}: their agreement is partly built in.`;
  const slider = byId("explore-slider");
  slider.max = index.at.length - 1;
  slider.value = view.place;
  byId("explore-nearest").textContent = "";
  slider.setAttribute("aria-valuetext", `${named(index)} ${write(threshold)}`);
  byId("explore-number").value = threshold;
  for (const box of byId("explore-by").querySelectorAll("input")) box.checked = view.by.includes(Number(box.value));
  showJumps(grid, view, change);
}

/** Buttons that go to a threshold of the study or to everybody's cutoff; kept while the choice stands. */
function showJumps(grid, view, change) {
  const jumps = byId("explore-jumps");
  const choice = `${view.index} ${view.outcome}`;
  if (jumps.dataset.choice === choice) return;
  jumps.dataset.choice = choice;
  const index = grid.indices[view.index];
  const cutoff = index.outcomes[view.outcome].cutoff[0];
  const places = index.tested.map((value) => [`the study’s ${valueWriter(index)(value)}`, value]);
  if (cutoff !== null) places.push([`everybody’s cutoff ${cutoffWriter(index)(cutoff)}`, cutoff]);
  jumps.replaceChildren(...places.map(([label, value]) => {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "action";
    button.textContent = label;
    button.addEventListener("click", () => change({ place: nearest(index.at, value) }));
    return button;
  }));
}

/** A link into a folded section opens it. */
function unfold() {
  const goal = location.hash.length > 1 && !location.hash.includes("?") && byId(location.hash.slice(1));
  if (!goal) return;
  for (let fold = goal.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  goal.querySelector(":scope > details")?.setAttribute("open", "");
  goal.scrollIntoView();
}

toolUpTables();
toolUpTexts();
unfold();
window.addEventListener("hashchange", unfold);
const packed = byId("explore-data");
if (packed) {
  unpack(packed.textContent).then(explore).catch((fault) => {
    byId("explore-trouble").hidden = false;
    console.error(fault);
  });
}
