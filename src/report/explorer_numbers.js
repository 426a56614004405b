// The packed grid of thresholds: unpacking it, looking numbers up, and saying them.

/** Decimals of a percentage: none where whole per cent are known. */
let percentPlaces = 1;

async function unpack(letters) {
  const bytes = Uint8Array.from(atob(letters.trim()), (letter) => letter.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  const packed = JSON.parse(await new Response(stream).text());
  percentPlaces = packed.percent_places;
  for (const { beyond, outcomes } of packed.samples.flatMap(({ indices }) => indices)) {
    expand(beyond);
    outcomes.forEach(({ sensitivity, specificity, moved }) => [sensitivity, specificity, moved].forEach(expand));
  }
  return packed;
}

/** Sums of steps, nothing where there is none. */
function summed(steps) {
  let sum = 0;
  return steps.map((step) => (step === null ? null : (sum += step)));
}

/** From hundredths in steps (shares, reach of the interval below and above, reasons) to percent. */
function expand(list) {
  list.forEach(([steps, below, above, reasons], group) => {
    const [values, down, up] = [steps, below, above].map(summed);
    const end = (reach, way) => values.map((value, place) => (reach[place] === null ? null : (value + way * reach[place]) / 100));
    const code = (place) => reasons?.[place] ?? 0;
    const known = values.map((value, place) => (value === null ? -1 - code(place) : value / 100));
    list[group] = [known, end(down, -1), end(up, 1)];
  });
}

/** Value and interval of a series at one threshold, or why there is none. */
function estimate(grid, [values, lower, upper], place) {
  const value = values[place];
  if (value < 0) return { why: grid.reasons[-1 - value] };
  return { value, lower: lower[place], upper: upper[place] };
}

/** A label up to its first comma or bracket: `body mass index` of `body mass index, WHO classes`; one that lists things stays whole. */
const shortened = (label) => (label.includes(":") ? label : label.split(/[,(]/)[0].trim() || label);
/** Labels shortened where that still tells them apart. */
const shortLabels = (labels) => {
  const short = labels.map(shortened);
  return labels.map((label, at) => (short.filter((other) => other === short[at]).length > 1 ? label : short[at]));
};

/** Everything known about one group at one threshold. */
function groupAt(grid, view, group) {
  const index = grid.indices[view.index];
  const against = index.outcomes[view.outcome];
  const [grouping, name] = grid.groups[group];
  const cutoff = against.cutoff[group];
  const moved = estimate(grid, against.moved[group], view.place);
  const way = WAYS[against.way[group][view.place]];
  return {
    group,
    grouping,
    label: grouping === 0 ? "everybody" : name,
    // Named with its grouping where two groupings may share a name, or the name alone does not say of what it is.
    called: grouping === 0 ? "everybody" : view.by.length > 1 || BARE.test(name) ? `${shortened(grid.groupings[grouping][1])}: ${name}` : name,
    by: grouping === 0 ? "" : grid.groupings[grouping][1],
    everybody: grouping === 0,
    n: index.n[group],
    with: against.with[group],
    without: against.without[group],
    beyond: estimate(grid, index.beyond[group], view.place),
    sensitivity: estimate(grid, against.sensitivity[group], view.place),
    specificity: estimate(grid, against.specificity[group], view.place),
    cutoff: cutoff === null
      ? { why: noCutoff(grid.reasons[against.cutoff_reason[group]]) }
      : { value: cutoff, lower: against.cutoff_lower[group], upper: against.cutoff_upper[group] },
    // People no longer beyond are drawn to the left of nobody.
    moved: moved.why || way !== "no_longer_beyond" ? moved : mirrored(moved),
    reclassified: moved,
    // What happens to people between the threshold and the cutoff, as the file says it.
    way,
  };
}

/** What happens to people when the threshold replaces a group's cutoff, by letter and as the file says it. */
const WAYS = { n: "newly_beyond", l: "no_longer_beyond", "=": "nobody", "-": "" };
/** Names of groups that are a number, or yes and no. */
const BARE = /^(under |over )?[\d<>≥≤]|^(yes|no)$/;
const noCutoff = (reason) => (reason ? `no cutoff of its own: ${reason}` : "no cutoff of its own");

/** The same to the other side of nobody. */
const mirrored = ({ value, lower, upper }) => ({
  value: value && -value,
  lower: upper === null ? null : -upper,
  upper: lower === null ? null : -lower,
});

/** Everybody, then the groups of the chosen groupings. */
const groupsOf = (grid, view) =>
  grid.groups.map((_, group) => group)
    .filter((group) => grid.groups[group][0] === 0 || view.by.includes(grid.groups[group][0]));

/** Place of the threshold nearest to a number. */
function nearest(at, wanted) {
  let best = 0;
  at.forEach((value, place) => {
    if (Math.abs(value - wanted) < Math.abs(at[best] - wanted)) best = place;
  });
  return best;
}

/** Where a value lies on the ruler, from 0 to 1: thresholds stand at equal distances. */
function along(at, value) {
  if (value <= at[0]) return 0;
  const above = at.findIndex((threshold) => threshold >= value);
  if (above < 0) return 1;
  const [low, high] = [at[above - 1], at[above]];
  return (above - 1 + (value - low) / (high - low)) / (at.length - 1);
}

const minus = (text) => text.replace(/^-(?=.*[1-9])/, "\u2212").replace(/^-/, "");
const fixed = (value, places) => minus(value.toFixed(places));
/** A count; from 10,000 on with narrow spaces. */
const whole = (count) => (count === null ? "not shown" : count < 10000 ? `${count}` : `${count}`.replace(/\B(?=(\d{3})+$)/g, "\u202f"));
const placesOf = (value) => (`${value}`.split(".")[1] || "").length;
/** Thresholds as they stand; whole ones with a decimal where the grid has decimals. */
function valueWriter(index) {
  const least = index.at.some((value) => placesOf(value)) ? 1 : 0;
  return (value) => fixed(value, Math.max(placesOf(value), least));
}
/** Cutoffs, one decimal finer than the grid. */
function cutoffWriter(index) {
  const own = index.at.filter((value) => !index.tested.includes(value));
  const places = Math.max(...(own.length ? own : index.at).map(placesOf)) + 1;
  return (value) => fixed(value, places);
}

const interval = (lower, upper, write) =>
  lower === null || lower === undefined
    ? ""
    : ` (${write(lower)}${lower < 0 || upper < 0 ? " to " : "–"}${write(upper)})`;
const withInterval = ({ value, lower, upper, why }, write) =>
  why ? `withheld: ${why}` : `${write(value)}${interval(lower, upper, write)}`;
const percent = (value) => fixed(value, percentPlaces);
/** To the per cent; small shares, and those short of all, with a decimal that does not round them to nobody or everybody. */
function roughly(value) {
  const fine = percentPlaces > 0 && ((value > 0 && value < 10) || (value > 99 && value < 100));
  return `${fine ? fixed(Math.min(Math.max(value, 0.1), value < 100 ? 99.9 : 100), 1) : fixed(value, 0)}\u00a0%`;
}
/** People reclassified, with the direction in words. */
function movedWords({ reclassified, way }, write = percent) {
  if (reclassified.why) return `withheld: ${reclassified.why}`;
  if (!reclassified.value) return "0";
  return `${withInterval(reclassified, write)} ${way.replaceAll("_", " ")}`;
}

const sidesOf = (index) => (index.lower ? "at or below" : "at or above");
const named = (index) => (index.unit ? `${index.label} (${index.unit})` : index.label);

/** Lowest and highest printed value of some groups; none with fewer than two. */
function ends(rows, pick) {
  const shown = rows.filter((row) => !row.everybody && pick(row).value !== undefined);
  shown.sort((a, b) => pick(a).value - pick(b).value);
  return shown.length < 2 ? null : [shown[0], shown[shown.length - 1]];
}

/** A share with the number of people it is of. */
const ofPeople = (share, people) => (share.why ? withInterval(share, percent) : `${withInterval(share, percent)} of ${whole(people)}`);

/** What the threshold changes when it replaces a group's own cutoff. */
function changeInWords(rows) {
  const most = rows.filter((row) => row.moved.value).sort((a, b) => Math.abs(b.moved.value) - Math.abs(a.moved.value))[0];
  if (!most) return [];
  const change = `${roughly(Math.abs(most.moved.value))} would be ${most.moved.value > 0 ? "newly beyond" : "no longer beyond"}`;
  return [rows.length === 1
    ? `Put in place of everybody’s own cutoff, ${change}.`
    : `Put in place of a group’s own cutoff, it changes most for ${most.called}: ${change}.`];
}

/** The view in sentences; the sample is named where there are several. */
function sentences(grid, view, rows) {
  const index = grid.indices[view.index];
  const [write, finely] = [valueWriter(index), cutoffWriter(index)];
  const [all] = rows;
  const at = `${grid.several ? `${grid.survey}: at` : "At"} ${write(index.at[view.place])}${index.unit ? ` ${index.unit}` : ""}`;
  const share = all.beyond.why
    ? `the share of everybody ${sidesOf(index)} it is withheld (${all.beyond.why})`
    : `${roughly(all.beyond.value)} of everybody are ${sidesOf(index)} it`;
  const across = ends(rows, (row) => row.beyond);
  const spread = across
    ? `; from ${across.map((row) => `${roughly(row.beyond.value)} (${row.called})`).join(" to ")}`
    : "";
  const said = [`${at}, ${share}${spread}.`];
  if (!all.sensitivity.why && !all.specificity.why) {
    said.push(`It finds ${roughly(all.sensitivity.value)} of the people with the outcome and rightly leaves out ` +
      `${roughly(all.specificity.value)} of those without it.`);
  }
  const cutoffs = ends(rows, (row) => row.cutoff);
  if (cutoffs) {
    said.push(`The groups’ own cutoffs run from ${cutoffs
      .map((row) => `${finely(row.cutoff.value)} (${row.called})`).join(" to ")}.`);
  }
  return [...said, ...changeInWords(rows)].join(" ");
}
