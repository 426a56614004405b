// Photographs the movable threshold of a run's report, for the README:
// `node picture.mjs <folder of the run> <browser> <file.png>`, then `optipng -o5 <file.png>`, as a test holds its size.

import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [folder, executablePath, file] = process.argv.slice(2);
const WIDTH = 900;
const browser = await chromium.launch({ executablePath, args: ["--no-sandbox"] });
const page = await browser.newPage({ viewport: { width: WIDTH, height: 2400 }, colorScheme: "light" });
await page.goto(pathToFileURL(resolve(join(folder, "index.html"))).href);
await page.waitForSelector("#explore-beyond .lane");
const [top, bottom] = await page.evaluate(() => {
  const place = (id) => document.getElementById(id).getBoundingClientRect();
  return [place("explorer").top + scrollY, place("explore-beyond").bottom + scrollY];
});
await page.screenshot({ path: file, fullPage: true, clip: { x: 0, y: top, width: WIDTH, height: bottom - top + 8 } });
await browser.close();
