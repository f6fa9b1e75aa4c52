// Makes in the panel what is sent, as a person does, by mouse and by keyboard: the page that plays, which does so by itself, the
// sheets, which are those of the commands byte for byte, and the folder as an archive, and takes them in as downloads.
// `node panel-send.js FOLDER` starts the program that DRYWIRE names; with DRYWIRE_SCREENSHOTS set it leaves pictures in FOLDER.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdirSync, readFileSync, readdirSync, symlinkSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { entered, looked, placed, tabTo } from "./panel-window.js";
import { KNOBS, SWITCHED } from "./played.js";
import { wave } from "./sounds.js";

const folder = resolve(process.argv[2]);
const guitars = join(folder, "guitars");
const own = join(guitars, "gift");
mkdirSync(join(own, "takes"), { recursive: true });
writeFileSync(join(own, "guitar.toml"), `format = 1
name = "Gift"
${SWITCHED}${KNOBS}`);
writeFileSync(join(own, "takes/riff.wav"), wave(48000, 1, 2));
symlinkSync("/etc/hostname", join(own, "takes/outside.wav"));

const { browser, page, faults, end } = await entered(guitars);
await placed(page, "Send");
await page.waitForSelector("#made");

/** Waits until what is made is there under this name, and takes it in. */
async function downloaded(name) {
  const link = page.locator(`.made a[download="${name}"]`);
  await link.waitFor({ timeout: 120000 });
  const [download] = await Promise.all([page.waitForEvent("download"), link.click()]);
  assert.equal(download.suggestedFilename(), name);
  const path = join(folder, name);
  await download.saveAs(path);
  return path;
}

// A sheet by mouse: what the command writes.
await page.locator('[data-part="make-cavity"] button').click();
const cavity = await downloaded("cavity.html");
const sheet = join(folder, "by-command.html");
execFileSync(process.env.DRYWIRE, ["harness", "--guitar", join(own, "guitar.toml"), "--sheet", sheet], { stdio: "ignore" });
assert.deepEqual(readFileSync(cavity), readFileSync(sheet));
await page.locator('[data-part="make-switch:mode"] button').click();
const mode = await downloaded("switch-mode.html");
execFileSync(process.env.DRYWIRE, ["lugs", "--check", join(own, "guitar.toml"), "--sheet", sheet, "--replace"], { stdio: "ignore" });
assert.deepEqual(readFileSync(mode), readFileSync(sheet));

// The page that plays the person's own take, made and taken in; by itself it is ready to play.
await page.locator("#take").selectOption("own/riff.wav");
await page.waitForFunction(() => location.search.includes("riff"));
await page.locator('[data-part="make-listen"] button').click();
const listen = await downloaded("riff-bridge.html");
const set = readdirSync(join(own, "sets"));
assert.equal(set.length, 1);
assert.ok(readFileSync(listen, "utf8").startsWith(readFileSync(join(own, "sets", set[0], "listen.html"), "utf8").trimEnd()));
const alone = await browser.newPage();
alone.on("pageerror", (error) => faults.push(error.message));
await alone.goto(pathToFileURL(listen).href);
await alone.waitForSelector("body.ready");
await alone.close();

// By keyboard alone: the folder as an archive, which another program reads.
await page.locator("h1").click();
await tabTo(page, '[data-part="make-archive"] *');
await page.keyboard.press("Enter");
await page.locator('.made a[download$=".zip"]').waitFor();
const name = await page.locator('.made a[download$=".zip"]').getAttribute("download");
const archive = await downloaded(name);
const listed = execFileSync("python3", ["-c", "import sys, zipfile; z = zipfile.ZipFile(sys.argv[1]); assert z.testzip() is None; print('\\n'.join(z.namelist()))", archive]).toString().trim().split("\n");
assert.ok(listed.includes("gift/guitar.toml") && listed.includes("gift/takes/riff.wav"), listed.join(" "));
assert.ok(listed.some((path) => path.startsWith("gift/sets/")) && !listed.some((path) => path.includes("sent/") || path.includes("outside")), listed.join(" "));

// What somebody changed is kept, and that is said.
writeFileSync(join(own, "sent/cavity.html"), "mine");
await page.locator('[data-part="make-cavity"] button').click();
await page.waitForSelector('[data-part="stage"] .notice');
assert.equal(readFileSync(join(own, "sent/cavity.html"), "utf8"), "mine");
// Nothing leads out.
const out = await page.evaluate(async () => (await fetch(`${location.pathname}file/..%2Fguitar.toml`)).status);
assert.equal(out, 404);

const url = page.url();
await looked(page, folder, "send", async () => {
  await page.goto(url);
  await page.waitForSelector("#made");
});
assert.deepEqual(faults.filter((text) => !text.includes("404")), []);
await end();
