// Works in the panel in another browser than `panel.js` does, through WebDriver BiDi. `node panel-firefox.js FOLDER` starts the
// program that DRYWIRE names.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import puppeteer from "puppeteer-core";
import { started } from "./panel-window.js";

const guitars = join(resolve(process.argv[2]), "guitars");
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
} finally {
  await browser.close();
  panel.kill();
}
