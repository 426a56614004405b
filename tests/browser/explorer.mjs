// Drives the report of a run in a browser: `node explorer.mjs <folder of the run> <browser>`; with `start` only how it starts.
// Every check opens the page anew from the disk and fails on a console error or a network request.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [folder, executablePath] = process.argv.slice(2);
const address = pathToFileURL(resolve(folder, "index.html")).href;
const grid = readCsv(readFileSync(join(folder, "tables/threshold_grid.csv"), "utf8"));
const browser = await chromium.launch({ executablePath, args: ["--no-sandbox"] });

/** The cells of a line of CSV; no text of the tables holds a quote. */
function cellsOf(line) {
  const cells = [""];
  let quoted = false;
  for (const letter of line) {
    if (letter === '"') quoted = !quoted;
    else if (letter === "," && !quoted) cells.push("");
    else cells[cells.length - 1] += letter;
  }
  return cells;
}

function readCsv(text) {
  const [heading, ...lines] = text.replace(/^\ufeff/, "").trimEnd().split("\n").map(cellsOf);
  return lines.map((cells) => Object.fromEntries(heading.map((name, at) => [name, cells[at]])));
}

const fixed = (text) => Number(text).toFixed(1);
const plain = (text) => text.replaceAll("\u2212", "-").replaceAll("\u202f", "");

const surveys = [...new Set(grid.map((row) => row.survey))];

/** The row of the grid that the page should be showing for a group; the survey matters where there are several. */
const expected = ({ index, outcome, at, sample }, grouping, group) => grid.find((row) =>
  row.index === index && row.outcome === outcome && Number(row.threshold) === at &&
  row.grouping === grouping && row.group === group && (surveys.length === 1 || row.survey === sample));

const viewOf = async (page) => {
  const words = new URLSearchParams((await page.evaluate(() => location.hash)).replace("#explore?", ""));
  return { index: words.get("index"), outcome: words.get("outcome"), at: Number(words.get("at")), by: words.get("by"), sample: words.get("sample") };
};

const tableOf = (page) => page.$$eval("#explore-table tbody tr", (rows) =>
  rows.map((row) => [...row.cells].map((cell) => cell.textContent)));

/** Every number of the page's table equals the file's, rounded as the page rounds. */
async function sameAsFile(page) {
  const view = await viewOf(page);
  const groupings = ["everybody", ...(view.by || "").split(",").filter(Boolean)];
  const rows = await tableOf(page);
  let compared = 0;
  for (const [by, label, n, ...shown] of rows) {
    const candidates = groupings.map((grouping) => expected(view, grouping, label)).filter(Boolean);
    const row = candidates.find((candidate) => (candidate.grouping === "everybody") === !by && candidate.n === plain(n));
    assert.ok(row, `${label} at ${view.at} stands in the file`);
    assert.equal(plain(n), row.n);
    const percent = (name, times, people) => row[`${name}_withheld`]
      ? `withheld: ${row[`${name}_withheld`]}`
      : `${fixed(row[name] * times)} (${fixed(row[`${name}_lower`] * times)}–${fixed(row[`${name}_upper`] * times)})${people ? ` of ${row[people]}` : ""}`;
    const share = row.share_withheld
      ? `withheld: ${row.share_withheld}`
      : `${fixed(row.share_beyond)} (${fixed(row.share_lower)}–${fixed(row.share_upper)})`;
    closeTo(plain(shown[0]), share, label);
    closeTo(plain(shown[1]), percent("sensitivity", 100, "n_with"), label);
    closeTo(plain(shown[2]), percent("specificity", 100, "n_without"), label);
    if (!row.reclassified_withheld && row.moved !== "nobody") {
      closeTo(plain(shown[4]).replace(/ newly beyond| no longer beyond/, ""), percent("reclassified", 1), label);
      if (Number(row.reclassified) > 0) assert.ok(shown[4].endsWith(row.moved.replaceAll("_", " ")), shown[4]);
    }
    compared += 1;
  }
  assert.ok(compared > 0);
  return compared;
}

/** Equal words and numbers; a number may round the other way after having been rounded to a hundredth. */
function closeTo(got, want, label) {
  const parts = (text) => text.split(/(\d+(?:\.\d+)?)/);
  const [a, b] = [parts(got), parts(want)];
  assert.equal(a.length, b.length, `${label}: ${got} for ${want}`);
  a.forEach((part, at) => {
    if (at % 2) assert.ok(Math.abs(part - b[at]) < 0.1001, `${label}: ${got} for ${want}`);
    else assert.equal(part, b[at], `${label}: ${got} for ${want}`);
  });
}

const says = async (page) => {
  await page.waitForTimeout(400);
  return page.textContent("#explore-says");
};

const checks = {
  async "opens from the disk with an answer in words"(page) {
    assert.match(await says(page), /^At \S+.*\s% of everybody are at or (above|below) it; from \d/);
    assert.equal(await page.isVisible("#explore-trouble"), false);
    assert.ok((await page.$$("#explore-beyond .lane")).length >= 3);
  },

  async "moves by keyboard and says the value"(page) {
    await page.focus("#explore-slider");
    const before = await page.getAttribute("#explore-slider", "aria-valuetext");
    for (let press = 0; press < 5; press += 1) await page.keyboard.press("ArrowRight");
    const after = await page.getAttribute("#explore-slider", "aria-valuetext");
    assert.notEqual(before, after);
    assert.ok(await sameAsFile(page) >= 3);
    await page.keyboard.press("Home");
    await sameAsFile(page);
    await page.keyboard.press("End");
    await sameAsFile(page);
  },

  async "moves by dragging"(page) {
    await page.locator("#explore-slider").scrollIntoViewIfNeeded();
    const box = await page.locator("#explore-slider").boundingBox();
    const place = Number(await page.inputValue("#explore-slider"));
    const steps = Number(await page.getAttribute("#explore-slider", "max"));
    const x = (part) => box.x + 14 + part * (box.width - 28);
    await page.mouse.move(x(place / steps), box.y + box.height / 2);
    await page.mouse.down();
    await page.mouse.move(x(0.8), box.y + box.height / 2, { steps: 8 });
    await page.mouse.up();
    const reached = Number(await page.inputValue("#explore-slider"));
    assert.ok(Math.abs(reached / steps - 0.8) < 0.05, `${reached} of ${steps}`);
    await sameAsFile(page);
  },

  async "takes a typed number to the nearest threshold"(page) {
    await page.fill("#explore-number", "3.04");
    await page.keyboard.press("Enter");
    const { at } = await viewOf(page);
    assert.ok(Math.abs(at - 3.04) < 0.06, `${at}`);
    assert.match(await page.textContent("#explore-nearest"), /is shown, the nearest to 3\.04\.$/);
    await sameAsFile(page);
    await page.fill("#explore-number", "1000");
    await page.keyboard.press("Enter");
    assert.match(await page.textContent("#explore-nearest"), /the nearest to 1000\.$/);
    assert.doesNotMatch(await page.textContent("#explore-says"), /\b100\u00a0% of (everybody|the people)/);
    await page.fill("#explore-number", `${at}`);
    await page.keyboard.press("Enter");
    assert.equal(await page.isVisible("#explore-nearest"), false);
  },

  async "splits by other groups"(page) {
    const boxes = await page.$$("#explore-by input");
    for (const box of boxes) await box.setChecked(true);
    const all = await sameAsFile(page);
    for (const box of boxes) await box.setChecked(false);
    assert.equal(await sameAsFile(page), 1);
    assert.ok(all > 10, `${all} groups`);
    assert.equal((await page.$$("#explore-moved .lane")).length, 1);
  },

  async "changes index and outcome"(page) {
    for (const [index] of (await page.$$("#explore-index option")).entries()) {
      await page.selectOption("#explore-index", `${index}`);
      for (const [outcome] of (await page.$$("#explore-outcome option")).entries()) {
        await page.selectOption("#explore-outcome", `${outcome}`);
        await sameAsFile(page);
      }
    }
  },

  async "says where an outcome counts a part of the index"(page) {
    const choose = async (index, outcome) => {
      await page.selectOption("#explore-index", { label: index });
      await page.selectOption("#explore-outcome", `${outcome}`);
      return page.isVisible("#explore-built-in");
    };
    const outcomes = [...new Set(grid.map((row) => row.outcome))];
    const syndrome = outcomes.indexOf("metabolic_syndrome_harmonized_2009");
    assert.equal(await choose("HOMA-IR", syndrome), true, "both count glucose");
    assert.match(await page.textContent("#explore-built-in"), /counts a part of HOMA-IR/);
    assert.equal(await choose("HOMA-IR", outcomes.indexOf("insulin_resistant")), false);
  },

  async "restores a view from its address"(page) {
    await page.focus("#explore-slider");
    await page.keyboard.press("PageUp");
    await page.selectOption("#explore-outcome", "1");
    await page.locator("#explore-by input").first().setChecked(true);
    const [before, link] = [await tableOf(page), page.url()];
    const other = await page.context().newPage();
    await other.goto(link);
    await other.waitForSelector("#explore-beyond .lane");
    assert.deepEqual(await tableOf(other), before);
    assert.equal(await says(other), await says(page));
    await other.evaluate(() => { location.hash = "#explore?index=homa_ir&at=1&by="; });
    await other.waitForFunction(() => document.querySelector("#explore-number").value === "1");
    assert.equal((await tableOf(other)).length, 1);
  },

  async "sorts its tables"(page) {
    await page.locator("#explore-by input").first().setChecked(true);
    const column = async () => (await tableOf(page)).map((row) => Number.parseFloat(plain(row[3]))).filter((n) => !Number.isNaN(n));
    await page.click("#explore-table th:nth-child(4) button");
    const rising = await column();
    assert.deepEqual(rising, [...rising].sort((a, b) => a - b));
    assert.equal(await page.getAttribute("#explore-table th:nth-child(4)", "aria-sort"), "ascending");
    await page.click("#explore-table th:nth-child(4) button");
    assert.deepEqual(await column(), rising.toReversed());
    await page.focus("#explore-slider");
    await page.keyboard.press("ArrowRight");
    const moved = await column();
    assert.deepEqual(moved, [...moved].sort((a, b) => b - a), "stays sorted while the slider moves");
  },

  async "answers to pointer and arrow keys"(page) {
    const lanes = page.locator("#explore-beyond .lane");
    await lanes.nth(1).hover();
    assert.equal(await page.textContent("#explore-tip"), await lanes.nth(1).getAttribute("aria-label"));
    await page.mouse.move(0, 0);
    assert.equal(await page.isVisible("#explore-tip"), false);
    await lanes.nth(0).focus();
    await page.keyboard.press("ArrowDown");
    assert.match(await page.textContent("#explore-tip"), /%|withheld/);
    assert.equal(await page.textContent("#explore-tip"), await lanes.nth(1).getAttribute("aria-label"));
    await page.keyboard.press("Escape");
    assert.equal(await page.isVisible("#explore-tip"), false);
  },

  async "saves and copies what it shows"(page) {
    const [download] = await Promise.all([page.waitForEvent("download"), page.click("#explore :text('Save as CSV')")]);
    const saved = readCsv(readFileSync(await download.path(), "utf8"));
    const [first] = saved;
    assert.ok(download.suggestedFilename().endsWith(`${first.index}-${first.outcome}-at-${first.threshold}.csv`), download.suggestedFilename());
    assert.equal(saved.length, (await tableOf(page)).length);
    for (const row of saved) {
      const view = { index: row.index, outcome: row.outcome, at: Number(row.threshold) };
      const want = expected(view, row.grouping, row.group);
      // Shares stand in per cent, as their columns say, to the hundredth that is known here.
      for (const [name, times] of [["share_beyond", 1], ["sensitivity", 100], ["specificity", 100], ["reclassified", 1]]) {
        const short = name === "share_beyond" ? "share" : name;
        for (const column of [name, `${short}_lower`, `${short}_upper`]) {
          const got = row[`${column}_percent`];
          assert.notEqual(got, undefined, `${column}_percent is a column`);
          if (want[`${short}_withheld`] || want[column] === "") assert.equal(got, "", `${column} of ${row.group}`);
          else assert.ok(Math.abs(got - want[column] * times) <= 0.011, `${column} of ${row.group}: ${got} for ${want[column]}`);
        }
      }
      for (const same of ["unit", "n", "n_with", "n_without", "cutoff", "moved"]) assert.equal(row[same], want[same], `${same} of ${row.group}`);
    }
    await page.context().grantPermissions(["clipboard-read", "clipboard-write"]);
    await page.click("#explore :text('Copy table')");
    const copied = await page.evaluate(() => navigator.clipboard.readText());
    assert.equal(copied.split("\n").length, saved.length + 1);
    assert.doesNotMatch(copied, /\d\u202f\d|\u2212\d/, "numbers as a spreadsheet reads them");
    await page.click("#explore :text('Copy a link')");
    const link = await page.evaluate(() => navigator.clipboard.readText());
    assert.match(link, /^file:.*#explore\?index=/);
  },

  async "opens a folded section that a link leads to"(page) {
    await page.click("nav a[href='#methods']");
    assert.equal(await page.isVisible("#methods dl"), true);
  },

  async "names in its legend only what is there"(page) {
    const last = (await page.$$("#explore-index option")).length - 1;
    const tested = async () => [await page.isVisible("#explore-key-tested"), (await page.$$("#explore-ruler .tested")).length > 0];
    for (const index of [0, last]) {
      await page.selectOption("#explore-index", `${index}`);
      const [named, drawn] = await tested();
      assert.equal(named, drawn, `index ${index}`);
    }
    assert.ok(await page.isVisible(".key-here"), "the line that moves is named");
  },

  async "writes round numbers along its scales"(page) {
    for (const [index] of (await page.$$("#explore-index option")).entries()) {
      await page.selectOption("#explore-index", `${index}`);
      for (const where of ["#explore-ruler", "#explore-cutoff"]) {
        const ticks = await page.$$eval(`${where} text.tick`, (all) => all.map((one) => one.textContent));
        assert.ok(ticks.length >= 2, `${where}: ${ticks}`);
        const figures = (text) => plain(text).replace(/^-|\.0$/g, "").replace(/\D|0+$/g, "").replace(/^0+/, "").length;
        const odd = ticks.filter((text) => figures(text) > 2);
        assert.ok(odd.length <= 1, `${where}: ${ticks}`);
      }
    }
  },

  async "writes no number in the place of a rounder one on a narrow screen"(page) {
    await page.setViewportSize({ width: 390, height: 800 });
    await page.selectOption("#explore-index", "0");
    const [written, tested] = await page.evaluate(() => [
      [...document.querySelectorAll("#explore-ruler text.tick")].map((one) => one.textContent),
      [...document.querySelectorAll("#explore-jumps button")].map((one) => one.textContent),
    ]);
    const own = written.filter((text) => !tested.some((label) => label.endsWith(` ${text}`)));
    assert.ok(own.length >= 2, `${written}`);
    for (const text of own) assert.match(plain(text), /^-?0*\.?0*[1-9]0*(\.0)?$/, `${written}`);
  },

  async "keeps lines off its words"(page) {
    const crossed = await page.$$eval(".panel svg", (drawings) => drawings.flatMap((drawing) => {
      const lines = [...drawing.querySelectorAll(".everybody-line, .threshold, .zero-line")].map((line) => line.getBoundingClientRect());
      const words = [...drawing.querySelectorAll(".lane text")].map((text) => [text.textContent, text.getBoundingClientRect()]);
      return words.filter(([, word]) => lines.some((line) => line.left > word.left && line.left < word.right &&
        line.bottom > word.top + 3 && line.top < word.bottom - 3)).map(([text]) => text);
    }));
    assert.deepEqual(crossed, []);
  },

  async "says what changes when nobody is split"(page) {
    for (const box of await page.$$("#explore-by input")) await box.setChecked(false);
    await page.focus("#explore-slider");
    await page.keyboard.press("End");
    const said = await says(page);
    assert.match(said, /everybody’s own cutoff/);
    assert.doesNotMatch(said, /most for everybody/);
  },

  async "fits its table into a window of 1280"(page) {
    await page.setViewportSize({ width: 1280, height: 900 });
    const [content, room] = await page.$eval("#explore-table", (table) => [table.scrollWidth, table.parentElement.clientWidth]);
    assert.ok(content <= room, `${content} in ${room}`);
  },

  async "offers no choice of samples where there is one"(page) {
    assert.equal(await page.isVisible("#explore-samples"), false);
  },

  async "filters a long table by words"(page) {
    await page.evaluate(() => document.querySelectorAll("details").forEach((fold) => { fold.open = true; }));
    const scroll = page.locator("#tables .scroll[data-table='cutoffs']");
    const table = scroll.locator("table");
    const before = await table.locator("tbody tr:visible").count();
    const filter = page.locator("xpath=//div[@data-table='cutoffs']/preceding-sibling::label[1]/input");
    await filter.fill("everybody");
    const left = await table.locator("tbody tr:visible").allTextContents();
    assert.ok(left.length > 0 && left.length < before && left.every((text) => /everybody/i.test(text)), `${left.length} of ${before}`);
    await filter.fill("");
    assert.equal(await table.locator("tbody tr:visible").count(), before);
  },

  async "prints"(page) {
    const pdf = await page.pdf({ preferCSSPageSize: true });
    assert.ok(pdf.length > 50_000 && pdf.subarray(0, 5).toString() === "%PDF-");
  },
};

/** What a report of several samples must do besides. */
const checksOfSamples = {
  async "shows each sample on a grid of its own and names it"(page) {
    assert.deepEqual(await page.$$eval("#explore-sample option", (all) => all.map((one) => one.value)), surveys);
    for (const survey of surveys) {
      await page.selectOption("#explore-sample", survey);
      await page.focus("#explore-slider");
      await page.keyboard.press("ArrowRight");
      assert.ok(await sameAsFile(page) >= 2);
      assert.match(await says(page), new RegExp(`^${survey.replace(/[()]/g, "\\$&")}: at `));
      const ticks = await page.$$eval("#explore-ruler text.tick", (all) =>
        all.map((one) => [Number(one.getAttribute("x")), Number.parseFloat(one.textContent.replace("\u2212", "-"))]));
      const rising = [...ticks].sort(([a], [b]) => a - b).map(([, value]) => value);
      assert.deepEqual(rising, [...rising].sort((a, b) => a - b), "the scale rises");
      const [line, handle] = await page.evaluate(() => [
        document.querySelector("#explore-ruler .threshold").getBoundingClientRect().left,
        document.querySelector("#explore-slider"),
      ].map((found) => (typeof found === "number" ? found
        : found.getBoundingClientRect().left + 14 + (found.value / found.max) * (found.getBoundingClientRect().width - 28))));
      assert.ok(Math.abs(line - handle) < 3, `the line stands at ${line}, the handle at ${handle}`);
    }
  },

  async "keeps the sample in the address"(page) {
    await page.selectOption("#explore-sample", surveys[1]);
    const [before, link] = [await tableOf(page), page.url()];
    const other = await page.context().newPage();
    await other.goto(link);
    await other.waitForSelector("#explore-beyond .lane");
    assert.equal(await other.inputValue("#explore-sample"), surveys[1]);
    assert.deepEqual(await tableOf(other), before);
  },
};

/** Without script the charts and tables are there and the explorer says why it is not. */
async function withoutScript() {
  const page = await browser.newPage({ javaScriptEnabled: false });
  await page.goto(address);
  assert.equal(await page.isVisible("#explorer"), false);
  assert.equal(await page.isVisible("#explore noscript"), true);
  assert.ok(await page.locator("#charts figure svg").first().isVisible());
  await page.close();
}

/** On paper no heading stands over nothing, and a chart leaves room for its caption on its page. */
async function onPaper() {
  const page = await browser.newPage({ javaScriptEnabled: false, viewport: { width: 688, height: 1000 } });
  await page.emulateMedia({ media: "print" });
  await page.goto(address);
  assert.equal(await page.isVisible("#explore h2"), false);
  const millimetre = 96 / 25.4;
  const heights = await page.$$eval("#charts details[open] figure", (all) => all.map((one) => one.getBoundingClientRect().height));
  assert.ok(heights.length > 0 && heights.every((height) => height < 255 * millimetre), `${heights}`);
  // A tall chart takes what its page has: text of half the size is hard to read.
  const tall = await page.$$eval("#charts details[open] figure svg", (all) => all.map((one) => one.getBoundingClientRect()).filter((box) => box.height > 1.4 * box.width).map((box) => box.height));
  assert.ok(tall.every((height) => height > 200 * millimetre), `${tall}`);
  await page.close();
}

/** No sideways scrolling on a phone, in light and dark, with every group shown. */
async function onAPhone() {
  for (const colorScheme of ["light", "dark"]) {
    const page = await browser.newPage({ viewport: { width: 360, height: 740 }, colorScheme });
    await page.goto(address);
    await page.waitForSelector("#explore-beyond .lane", { timeout: 10_000 });
    for (const box of await page.$$("#explore-by input")) await box.setChecked(true);
    const [content, screen] = await page.evaluate(() => [document.documentElement.scrollWidth, window.innerWidth]);
    assert.ok(content <= screen, `${content} wide on a screen of ${screen}`);
    // The answer's table is read without scrolling sideways.
    const cut = await page.$$eval(".glance", (all) => all.filter((box) => box.scrollWidth > box.clientWidth).length);
    assert.equal(cut, 0, "the answer's table is cut off");
    const [wide, room, named] = await page.$eval("#explore-table", (table) =>
      [table.scrollWidth, table.parentElement.clientWidth, [...table.tBodies[0].querySelectorAll("td")].every((cell) => cell.dataset.of)]);
    assert.ok(wide <= room && named, `the table of groups: ${wide} in ${room}`);
    // No line ends within a range of numbers.
    const lines = await page.$$eval(".range", (all) => all.map((one) => [one.textContent, one.getClientRects().length]));
    assert.ok(lines.length > 10, `${lines.length} ranges`);
    assert.deepEqual(lines.filter(([, count]) => count > 1), []);
    await page.close();
  }
}

async function one(name, check) {
  const context = await browser.newContext({ viewport: { width: 1200, height: 900 } });
  const page = await context.newPage();
  const faults = [];
  page.on("console", (message) => { if (message.type() === "error") faults.push(message.text()); });
  page.on("pageerror", (error) => faults.push(error.message));
  page.on("request", (request) => {
    if (!/^(file|data|blob):/.test(request.url())) faults.push(`asked for ${request.url()}`);
  });
  await page.goto(address);
  await page.waitForSelector("#explore-beyond .lane", { timeout: 10_000 });
  await check(page);
  assert.deepEqual(faults, []);
  await context.close();
}

/** At the start everybody's numbers are shown: all three where any threshold has them, else the share beyond. */
async function startsShown(page) {
  const unique = (name) => [...new Set(grid.map((row) => row[name]))];
  const chosen = async (name) => unique(name)[Number(await page.inputValue(`#explore-${name}`))];
  const [index, outcome] = [await chosen("index"), await chosen("outcome")];
  const at = Number(await page.inputValue("#explore-number"));
  const everybody = grid.filter((row) => row.survey === surveys[0] && row.grouping === "everybody" && row.index === index && row.outcome === outcome);
  const share = (row) => !row.share_withheld;
  const all = (row) => share(row) && !row.sensitivity_withheld && !row.specificity_withheld;
  const start = everybody.find((row) => Number(row.threshold) === at);
  const best = [all, share].find((shown) => everybody.some(shown));
  assert.ok(!best || best(start), `starts at ${at}: ${start.share_withheld} ${start.sensitivity_withheld}`);
}

let failed = 0;
const starts = ["starts where its numbers are shown", () => one("start", startsShown)];
const wanted = surveys.length > 1 ? checksOfSamples : checks;
const all = Object.entries(wanted).map(([name, check]) => [name, () => one(name, check)]);
all.push(starts, ["reads without script", withoutScript], ["fits a phone", onAPhone], ["prints", onPaper]);
for (const [name, run] of process.argv[4] === "start" ? [starts] : all) {
  try {
    await run();
    console.log(`ok      ${name}`);
  } catch (error) {
    failed += 1;
    console.log(`failed  ${name}\n${error.stack}`);
  }
}
await browser.close();
process.exitCode = failed ? 1 : 0;
