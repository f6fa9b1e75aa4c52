// Makes the README's pictures of the panel. `node panel-pictures.js FOLDER` starts the program that DRYWIRE names in FOLDER, which is
// to be empty, and writes FOLDER/panel.png and FOLDER/panel-hear.png.

import { join, resolve } from "node:path";
import { launched } from "./look.js";
import { started } from "./panel-window.js";

const folder = resolve(process.argv[2]);
const { panel, address } = await started(folder);
const browser = await launched();
const page = await browser.newPage({ viewport: { width: 1400, height: 860 }, colorScheme: "light" });
await page.goto(address);
await page.locator("a.button").click();
await page.locator("#name").fill("Workshop guitar");
for (const [id, value] of [["a_1", "3.7k"], ["b_1", "4.1k"], ["volume", "480k"]]) await page.locator(`#${id}`).fill(value);
await page.locator("button.strong").click();
await page.waitForSelector(".moves", { state: "attached" });
await page.locator('[name="voice"]').selectOption("parallel");
await page.waitForFunction(() => document.querySelector(".circuit figcaption").textContent.includes("parallel"));
await page.screenshot({ path: join(folder, "panel.png") });
await page.locator('nav >> text="Hear"').click();
await page.waitForSelector("#player");
await page.locator("#play").click();
await page.waitForFunction(() => document.querySelector('[data-plain="parallel"]').textContent !== "");
await page.locator("#voice-parallel").click();
await page.waitForFunction(() => location.search.includes("voice=parallel"));
await page.waitForFunction(() => Number(document.querySelector("#wave").getAttribute("aria-valuenow")) > 1);
await page.locator("#play").click();
await page.setViewportSize({ width: 1400, height: 1000 });
await page.screenshot({ path: join(folder, "panel-hear.png") });
await browser.close();
panel.kill();
