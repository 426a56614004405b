// Tables that can be sorted, copied and saved. Works on any table of the page.

/** Sets a text whose ranges of numbers are not broken over two lines. */
function setText(element, text) {
  const parts = text.split(/([\d.,()\u202f]*\d\u2013[\d.,()\u202f]+)/);
  element.replaceChildren(...parts.map((part, place) => {
    if (place % 2 === 0) return part;
    const range = document.createElement("span");
    range.className = "range";
    range.textContent = part;
    return range;
  }));
}

const asNumber = (text) => {
  const found = text.replace(/[\u202f\s]/g, "").replace(/\u2212/g, "-").match(/^-?\d+(\.\d+)?/);
  return found ? Number(found[0]) : NaN;
};

/** Numbers by size, words by alphabet, withheld and empty cells last whichever way. */
function compareCells(one, other, falling) {
  const [a, b] = [one, other].map((cell) => {
    const missing = !cell.textContent.trim() || cell.classList.contains("withheld");
    return { missing, number: asNumber(cell.textContent), text: cell.textContent };
  });
  if (a.missing !== b.missing) return a.missing ? 1 : -1;
  const numbers = !Number.isNaN(a.number) && !Number.isNaN(b.number) && a.number !== b.number;
  const order = numbers ? a.number - b.number : a.text.localeCompare(b.text, "en", { numeric: true });
  return falling ? -order : order;
}

function sortTable(table, column, falling) {
  const body = table.tBodies[0];
  const rows = [...body.rows].sort((a, b) => compareCells(a.cells[column], b.cells[column], falling));
  body.append(...rows);
  [...table.tHead.rows[0].cells].forEach((head, position) => {
    if (position === column) head.setAttribute("aria-sort", falling ? "descending" : "ascending");
    else head.removeAttribute("aria-sort");
  });
}

function makeSortable(table) {
  [...table.tHead.rows[0].cells].forEach((head, column) => {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "sort";
    button.append(...head.childNodes);
    button.addEventListener("click", () => {
      sortTable(table, column, head.getAttribute("aria-sort") === "ascending");
    });
    head.append(button);
  });
}

/** Numbers as a spreadsheet reads them: without narrow spaces, with the keyboard's minus. */
const plainly = (text) => text.trim().replace(/(?<=\d)\u202f(?=\d)/g, "").replace(/\u2212(?=\d)/g, "-");

/** The table as it stands on the page, headings first, less the rows that a filter hides. */
const cellsOf = (table) =>
  [...table.rows].filter((row) => !row.hidden).map((row) => [...row.cells].map((cell) => plainly(cell.textContent)));

/** A text that a spreadsheet would take for a formula, as the text it is. */
const inert = (cell) => (/^(?:[=+@\t\r]|-(?!\d))/.test(cell) ? `'${cell}` : String(cell));
const quoted = (cell) => (/[",\n\r]/.test(cell) ? `"${inert(cell).replace(/"/g, '""')}"` : inert(cell));
const asCsv = (rows) => rows.map((row) => row.map(quoted).join(",") + "\n").join("");
const asTabs = (rows) => rows.map((row) => row.map((cell) => inert(cell).replace(/[\t\n\r]+/g, " ")).join("\t")).join("\n");

/** Puts text on the clipboard; pages opened from a disk may need the older way. */
async function copyText(text) {
  try {
    await navigator.clipboard.writeText(text);
    return true;
  } catch {
    const box = document.createElement("textarea");
    const before = document.activeElement;
    box.value = text;
    document.body.append(box);
    box.select();
    const done = document.execCommand("copy");
    box.remove();
    before?.focus();
    return done;
  }
}

/** Saves a file that a spreadsheet takes for UTF-8 by its first character. */
function saveText(name, text) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob(["\ufeff", text], { type: "text/csv;charset=utf-8" }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
}

/** A button that says for a moment what it did. */
function actionButton(label, act) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "action";
  const said = document.createElement("span");
  said.setAttribute("role", "status");
  button.textContent = label;
  button.addEventListener("click", async () => {
    said.textContent = await act();
    setTimeout(() => { said.textContent = ""; }, 4000);
  });
  return [button, said];
}

/** Copy and save buttons before a table; `rows` gives what is taken, the page's own cells by default. */
function addTools(scroll, table, name, rows = () => cellsOf(table)) {
  const bar = document.createElement("p");
  bar.className = "tools";
  const copy = actionButton("Copy table", async () =>
    (await copyText(asTabs(rows()))) ? "Copied." : "The browser does not allow it.");
  const save = actionButton("Save as CSV", () => {
    saveText(typeof name === "function" ? name() : name, asCsv(rows()));
    return "Saved.";
  });
  bar.append(...copy, ...save);
  scroll.before(bar);
}

/** Tables from this length on can be filtered. */
const FILTERED_ROWS = 12;

/** Hides the rows that do not hold every word; returns how many stay. */
function filterRows(table, text) {
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  let left = 0;
  for (const row of table.tBodies[0].rows) {
    const said = row.textContent.toLowerCase();
    row.hidden = !words.every((word) => said.includes(word));
    left += row.hidden ? 0 : 1;
  }
  return left;
}

/** A field over a long table that keeps the rows with all the words typed. */
function addFilter(scroll, table) {
  const all = table.tBodies[0].rows.length;
  if (all < FILTERED_ROWS) return;
  const line = document.createElement("label");
  line.className = "filter";
  const field = document.createElement("input");
  field.type = "search";
  const said = document.createElement("span");
  said.setAttribute("role", "status");
  field.addEventListener("input", () => {
    const left = filterRows(table, field.value);
    said.textContent = field.value.trim() ? `${left} of the ${all} rows on this page` : "";
  });
  line.append("Rows with the words ", field, said);
  scroll.before(line);
}

function toolUpTables() {
  for (const scroll of document.querySelectorAll("main .scroll[data-table]")) {
    const table = scroll.querySelector("table");
    makeSortable(table);
    addFilter(scroll, table);
    addTools(scroll, table, `${scroll.dataset.table}-shown.csv`);
  }
}
