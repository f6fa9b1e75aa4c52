// How soon the panel answers: from a change to the curve drawn anew on the screen, the first page painted, memory and the
// processor's time while nothing is done. `node benches/panel.js` after `cargo build --release` and `npm install` in
// tests/browser; medians of fifty changes of one knob and of one coil's value.

import { spawn } from "node:child_process";
import { appendFileSync, copyFileSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { launched } from "../tests/browser/look.js";

const CHANGES = 50;
const folder = mkdtempSync(join(tmpdir(), "panel-bench-"));
const panel = spawn(process.env.DRYWIRE ?? "target/release/drywire", ["panel", folder, "--no-open"], { stdio: ["ignore", "pipe", "inherit"] });
const address = await new Promise((told) => panel.stdout.once("data", (line) => told(line.toString().trim())));
const browser = await launched();
const page = await browser.newPage({ viewport: { width: 1400, height: 900 } });
const begin = performance.now();
await page.goto(address);
await page.waitForSelector("main h1");
const painted = await page.evaluate(() => new Promise((told) => {
  new PerformanceObserver((list) => told(list.getEntries()[0].startTime)).observe({ type: "paint", buffered: true });
}));
const opened = performance.now() - begin;
await page.locator("a.button").click();
await page.locator("#name").fill("Bench");
await page.locator('[name="count"][value="2"]').check({ force: true });
await page.waitForSelector("#kind_2");
await page.locator("button.strong").click();
await page.waitForSelector("#undo");

/** Changes a value again and again and returns, in milliseconds, when each new curve was about to be drawn. */
const changed = (place, values) => page.evaluate(async ([at, all]) => {
  const times = [];
  for (const value of all) {
    const field = document.querySelector(`[data-place="${at}"]`);
    const before = document.querySelector(".curves-drawn").outerHTML;
    const from = performance.now();
    field.value = value;
    field.dispatchEvent(new Event("input", { bubbles: true }));
    if (field.type === "text") field.dispatchEvent(new Event("change", { bubbles: true }));
    while (document.querySelector(".curves-drawn").outerHTML === before) await new Promise(requestAnimationFrame);
    times.push(performance.now() - from);
    await new Promise((rest) => setTimeout(rest, 60));
  }
  return times.sort((a, b) => a - b);
}, [place, values]);
const told = (what, times) => console.log(`${what}: median ${times[Math.floor(times.length / 2)].toFixed(1)} ms, 95 % ${times[Math.floor(times.length * 0.95)].toFixed(1)} ms`);
const status = (name) => Number(readFileSync(`/proc/${panel.pid}/status`, "utf8").match(new RegExp(`${name}:\\s+(\\d+)`))[1]) / 1024;
const ticks = () => readFileSync(`/proc/${panel.pid}/stat`, "utf8").split(") ")[1].split(" ").slice(11, 13).reduce((sum, own) => sum + Number(own), 0);
/** Tells what the program takes while nothing is done. */
async function rested(when) {
  await new Promise((rest) => setTimeout(rest, 3000));
  const before = ticks();
  await new Promise((rest) => setTimeout(rest, 10_000));
  console.log(`${when}: memory ${status("VmRSS").toFixed(0)} MiB, at most ${status("VmHWM").toFixed(0)} MiB; ${ticks() - before} ticks of the processor in 10 s of rest`);
}
const numbers = Array.from({ length: CHANGES }, (_, i) => i);
console.log(`first paint ${painted.toFixed(0)} ms after the page was asked for; all of the way in ${opened.toFixed(0)} ms`);
told("knob to curve", await changed("controls.volume.turned", numbers.map((i) => String((i % 2 ? 9 : 3) - i / 50))));
told("coil's value to curve", await changed("pickup[0].coil_a.inductance", numbers.map((i) => (1.5 + i / 50).toFixed(2))));

await rested("after changes");

// In the place where one hears: until the first frame that is changed is made.
await page.locator('nav >> text="Hear"').click();
await page.waitForSelector("#player");
await page.locator("#play").click();
await page.waitForFunction(() => document.querySelector("#play").textContent === "Stop" && document.querySelector("[data-plain]").textContent !== "");
const sounded = (what, values) => page.evaluate(async ([how, all]) => {
  const times = [];
  for (const value of all) {
    const heard = new Promise((told) => document.addEventListener("heard", () => told(performance.now()), { once: true }));
    const from = performance.now();
    if (how === "voice") {
      const others = [...document.querySelectorAll("[data-voice]:not(:checked)")];
      others[value % others.length].click();
    } else if (how === "level") {
      document.querySelector('[name="level-of"]:not(:checked)').click();
    } else {
      const field = document.querySelector(`[data-place="${how}"]`);
      field.value = value;
      field.dispatchEvent(new Event("input", { bubbles: true }));
      if (field.type === "text") field.dispatchEvent(new Event("change", { bubbles: true }));
    }
    times.push(await heard - from);
    await new Promise((rest) => setTimeout(rest, 400));
  }
  return times.sort((a, b) => a - b);
}, [what, values]);
const own = new URL(page.url()).pathname;
// Two coils in their six arrangements, and the whole guitar in 24 positions: a selector of three throws and three switches.
const [made] = readdirSync(folder);
appendFileSync(join(folder, made, "guitar.toml"), ["bridge", "neck", "bridge"].map((on, i) => `
[[switch]]
name = "way-${i + 1}"
on = "${on}"
table = "on-on"
joints = [["a+", "hot", "L3"], ["a-", "L1", "R2"], ["b+", "L2"], ["b-", "ground", "R3"]]
`).join(""));
for (const heard of ["bridge", "positions"]) {
  await page.goto(new URL(`${own}?heard=${heard}`, page.url()).href);
  await page.waitForSelector("#player");
  await new Promise((rest) => setTimeout(rest, 3000));
  if (await page.locator("#play").textContent() === "Play") await page.locator("#play").click();
  const voices = await page.locator("[data-voice]").count();
  const of = (what) => `${what} to sound, ${voices} voices`;
  told(of("arrangement"), await sounded("voice", numbers));
  told(of("level"), await sounded("level", numbers));
  told(of("knob"), await sounded("controls.volume.turned", numbers.map((i) => String((i % 2 ? 9 : 3) - i / 50))));
  told(of("coil's value"), await sounded("pickup[0].coil_a.inductance", numbers.map((i) => (1.5 + i / 50).toFixed(2))));
  await page.locator("#amp-driven").check({ force: true });
  await page.waitForFunction(() => document.querySelector("[data-plain]").textContent !== "" && !document.querySelector("#hear.stale"));
  await new Promise((rest) => setTimeout(rest, 5000));
  told(of("knob behind the amplifier"), await sounded("controls.volume.turned", numbers.map((i) => String((i % 2 ? 9 : 3) - i / 50))));
}
await page.locator("#play").click();

// A wire dragged on the drawing of a cavity of more than 61 terminals in 60 states: until the frame in which it follows, and from the
// drop to the frame with the verdict; what mends it and the drawing anew come after that.
const large = join(folder, "large");
mkdirSync(large);
copyFileSync("tests/data/many-states.toml", join(large, "guitar.toml"));
await page.goto(new URL(`${own.slice(0, own.indexOf("/g/"))}/g/large/cavity/`, page.url()).href);
await page.setViewportSize({ width: 1400, height: 1800 });
await page.locator("#take-plan").click();
await page.waitForFunction(() => document.querySelector("#joined").textContent.startsWith("as wanted") && document.querySelector(".reach"));
const { follows, verdicts, redrawn } = await page.evaluate(async (turns) => {
  const frame = () => new Promise(requestAnimationFrame);
  const rest = (ms) => new Promise((done) => setTimeout(done, ms));
  const at = (name) => {
    const { x, y, width, height } = document.getElementById(`at-${name}`).getBoundingClientRect();
    return { clientX: x + width / 2, clientY: y + height / 2 };
  };
  const send = (type, point) => {
    const options = { ...point, pointerId: 1, isPrimary: true, bubbles: true, button: 0, pointerType: "mouse" };
    (document.elementFromPoint(point.clientX, point.clientY) ?? document.body).dispatchEvent(new PointerEvent(type, options));
  };
  document.getElementById("at-jack.tip").scrollIntoView({ block: "center" });
  const times = { follows: [], verdicts: [], redrawn: [] };
  for (const turn of turns) {
    const [source, goal] = turn % 2 ? ["tone.3", "jack.tip"] : ["jack.tip", "tone.3"];
    const [from, to] = [at(source), at(goal)];
    const before = document.querySelector("#joined").textContent;
    const picture = document.querySelector("[data-hands]");
    send("pointerdown", from);
    for (const share of [0.2, 0.4, 0.6, 0.8, 1]) {
      await rest(7 * share);
      const begun = performance.now();
      send("pointermove", { clientX: from.clientX + (to.clientX - from.clientX) * share, clientY: from.clientY + (to.clientY - from.clientY) * share });
      await frame();
      times.follows.push(performance.now() - begun);
    }
    const dropped = performance.now();
    send("pointerup", to);
    while (document.querySelector("#joined").textContent === before) await frame();
    times.verdicts.push(performance.now() - dropped);
    while (document.querySelector("[data-hands]") === picture) await frame();
    times.redrawn.push(performance.now() - dropped);
    await rest(300);
  }
  for (const own of Object.values(times)) own.sort((a, b) => a - b);
  return times;
}, numbers);
told("dragged wire to its frame", follows);
told("dropped wire to its verdict", verdicts);
told("dropped wire to the drawing anew", redrawn);

await rested("after hearing");
await browser.close();
panel.kill();
rmSync(folder, { recursive: true, force: true });
