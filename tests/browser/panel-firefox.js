// Works in the panel in another browser than `panel.js` does, through WebDriver BiDi: a guitar is made and changed; recordings that are
// dropped at Measure and at Confirm are read. `node panel-firefox.js FOLDER` starts the program that DRYWIRE names, and wants
// `input.wav` in FOLDER.

import assert from "node:assert/strict";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import puppeteer from "puppeteer-core";
import { started } from "./panel-window.js";
import { BENCH, heardThrough, recordedAs } from "./played.js";

const folder = resolve(process.argv[2]);
const guitars = join(folder, "guitars");
const bench = join(guitars, "bench/guitar.toml");
mkdirSync(join(guitars, "bench"), { recursive: true });
writeFileSync(bench, BENCH);
const { panel, address } = await started(guitars);
const browser = await puppeteer.launch({ browser: "firefox", executablePath: process.env.FIREFOX ?? "/usr/bin/firefox-esr", headless: true });
try {
  const page = await browser.newPage();
  await page.setViewport({ width: 1200, height: 900 });
  await page.goto(address);
  await page.waitForSelector("a.button");
  await page.click("a.button");
  await page.waitForSelector("#name");
  await page.type("#name", "Other browser");
  await page.type("#a_1", "3,61");
  await page.type("#b_1", "4k05");
  await page.click("button.strong");
  await page.waitForSelector("#undo");
  const ohms = '[data-place="pickup[0].coil_a.resistance"]';
  const reads = (text) => page.waitForFunction((wanted) => document.querySelector("#fv-pickup-0--coil_a-resistance .reads").textContent === wanted, {}, text);
  await reads("3.61 kΩ");
  await page.click(ohms, { count: 3 });
  await page.type(ohms, "4200");
  await reads("4.20 kΩ");
  await page.click("#undo");
  await reads("3.61 kΩ");
  assert.equal(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), true);
  // What is changed is saved a moment later.
  const read = () => readFileSync(join(guitars, "other-browser/guitar.toml"), "utf8");
  let text = read();
  for (let tries = 0; tries < 100 && !text.includes("3.61k"); tries += 1) {
    await new Promise((again) => setTimeout(again, 50));
    text = read();
  }
  assert.ok(text.includes('resistance = "3.61k"') && text.includes('resistance = "4k05"'), text);

  // Another guitar's places: what a person drops there is kept and read.
  const faults = [];
  page.on("pageerror", (error) => faults.push(error.message));
  page.on("console", (message) => faults.push(message.text()));
  const at = (place) => page.evaluate((place) => new URL(`${document.body.dataset.base}g/bench/${place}/`, location.href).href, place);
  const dropped = (path, name) => page.evaluate((base64, name) => {
    const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
    const dataTransfer = new DataTransfer();
    dataTransfer.items.add(new File([bytes], name, { type: "audio/wav" }));
    document.body.dispatchEvent(new DragEvent("drop", { dataTransfer, bubbles: true, cancelable: true }));
  }, readFileSync(path).toString("base64"), name);
  const says = (words) => page.waitForFunction((words) => document.querySelector(".verdict")?.textContent.includes(words)
    || document.getElementById("sound-trouble").textContent, { timeout: 60000 }, words);
  const trouble = () => page.$eval("#sound-trouble", (told) => told.textContent);

  await page.goto(await at("measure"));
  await page.waitForSelector("#run");
  await says("Nothing was measured so far");
  await dropped(join(folder, "input.wav"), "sweeps.wav");
  await says("Measured");
  assert.equal(await trouble(), "");
  assert.match(await page.$eval('select[data-place="take"]', (take) => take.value), /^\d{4}-\d\d-\d\d-sweeps\.wav$/);
  assert.equal(await page.$$eval("#points tbody tr", (rows) => rows.length), 71);

  await page.goto(await at("confirm"));
  await page.waitForSelector("#run");
  await says("Nothing was recorded so far");
  const strums = heardThrough(folder, bench, 1, "022100:2 022100:2 022100:2 022100:2", "--tempo", "100")["mode:1"];
  await dropped(recordedAs(join(folder, "strums.wav"), [...new Array(44100).fill(0), ...strums]), "strums.wav");
  await says("only `mode:1` was recorded");
  assert.equal(await trouble(), "");
  assert.equal(await page.$eval("#stage", (told) => told.textContent), "Kept: 4 strums of mode:1.");
  await page.select('[data-place="way"]', "flips");
  await page.waitForSelector("#between");
  assert.deepEqual(faults, []);
} finally {
  await browser.close();
  panel.kill();
}
