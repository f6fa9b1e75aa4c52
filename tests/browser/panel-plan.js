// Plans a switch in the panel, once by mouse and once by the keyboard alone, makes a wrong joint by hand and mends it; what goes into
// the guitar's file is byte for byte what the command puts there. `node panel-plan.js FOLDER` starts the program that DRYWIRE names;
// with DRYWIRE_SCREENSHOTS set it leaves pictures in FOLDER.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { picture } from "./look.js";
import { entered, looked, tabTo } from "./panel-window.js";

const folder = resolve(process.argv[2]);
const guitars = join(folder, "guitars");
const GUITAR = "# kept as it is\nformat = 1\nname = \"on the bench\"\n\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n\n[pickup.coil_a]\nleads = { plus = \"white\", minus = \"grey\" }\n\n[pickup.coil_b]\nleads = { plus = \"red\", minus = \"blue\" }\n";
for (const name of ["mouse", "keys", "again", "wired"]) {
  mkdirSync(join(guitars, name), { recursive: true });
  writeFileSync(join(guitars, name, "guitar.toml"), name === "wired" ? `${GUITAR}\n[controls]\nvolume = { pot = "500k" }\n` : GUITAR);
}
const { page, faults, at, end } = await entered(guitars);
const told = (words) => page.waitForFunction((wanted) => document.querySelector("#joined")?.textContent.startsWith(wanted), words);
const saved = () => page.waitForFunction(() => document.querySelector("#saved").textContent === "saved");

/** Holds what was put into a guitar's file to what the command puts there. */
async function asTheCommand(name, throws) {
  await saved();
  const copy = join(folder, `${name}.toml`);
  writeFileSync(copy, GUITAR);
  execFileSync(process.env.DRYWIRE, ["lugs", "--switch", "on-on", "--throws", throws, "--save", copy], { stdio: "ignore" });
  assert.equal(readFileSync(join(guitars, name, "guitar.toml"), "utf8"), readFileSync(copy, "utf8"));
}

// By mouse: what a switch cannot do leads to one that can.
await page.goto(at("g/mouse/"));
await page.locator('nav >> text="Plan"').click();
await page.waitForSelector("#put-0");
assert.match(await page.locator("#fewest").textContent(), /^\d joints at least, and .* ways\.$/);
await page.locator("#throw1").selectOption("series");
await page.locator("#kind").selectOption("on-off-on");
// A kind of switch begins with something that it can do.
await page.waitForFunction(() => document.querySelector("#throw3") && document.querySelector("#put-0"));
await page.locator("#throw1").selectOption("series");
await page.waitForFunction(() => document.querySelector('#throw1 option[value="series"][selected]'));
await page.locator("#throw2").selectOption("parallel");
await page.waitForFunction(() => /^No plan does this/.test(document.querySelector("#fewest").textContent));
await page.locator("#kind").selectOption("on-on");
await page.waitForFunction(() => !document.querySelector("#throw3"));
await page.locator("#throw2").selectOption("split-a");
await page.waitForFunction(() => document.querySelector('#throw2 option[value="split-a"][selected]') && document.querySelector("#put-0"));
await page.locator("#put-0").click();
await told("No fault");
await asTheCommand("mouse", "series,split-a");
const before = readFileSync(join(guitars, "mouse/guitar.toml"), "utf8");

// By hand: a lead is dragged onto a wrong lug, and the fault is told at once; back on the right one it is gone.
const joints = (name) => readFileSync(join(guitars, name, "guitar.toml"), "utf8").match(/^joints = (.*)$/m)[1];
const wires = JSON.parse(joints("mouse"));
const group = wires.find((own) => own.includes("hot"));
// Where it is joined with a lead off the switch, the lead itself.
const called = (word) => ({ white: "a+", grey: "a-", red: "b+", blue: "b-" })[word] ?? word;
const home = called(group.find((word) => word !== "hot"));
const wrong = ["L1", "L2", "L3", "R1", "R2", "R3"].find((lug) => !group.includes(lug));
const hand = () => page.locator("#hand").textContent();
/** Returns the middle of a lead or lug on the screen. */
const box = (name) => page.evaluate((id) => {
  const of = id === "" ? document.querySelector("[data-off]") : document.getElementById(`thing-${id}`);
  of.scrollIntoView({ block: "center" });
  const { x, y, width, height } = of.getBoundingClientRect();
  return [x + width / 2, y + height / 2];
}, name);
/** Waits until one is soldered where another is, or where that is nothing, nowhere. */
const isOn = (name, lug) => page.waitForFunction(([own, at]) => {
  const of = document.getElementById(`thing-${own}`);
  return at === "" ? of.closest("[data-off]") : of.closest(".lug-at")?.querySelector(".target")?.dataset.terminal === at;
}, [name, lug]);
async function drag(from, to) {
  await box(to);
  const start = await box(from);
  const end = await page.evaluate((id) => {
    const { x, y, width, height } = (id === "" ? document.querySelector("[data-off]") : document.getElementById(`thing-${id}`)).getBoundingClientRect();
    return [x + width / 2, y + height / 2];
  }, to);
  await page.mouse.move(...start);
  await page.mouse.down();
  await page.mouse.move((start[0] + end[0]) / 2, (start[1] + end[1]) / 2);
  await page.mouse.move(...end);
  const line = await page.locator(".held-wire.is-held line").evaluate((of) => ["x2", "y2"].map((name) => Number(of.getAttribute(name))));
  assert.deepEqual(line.map(Math.round), end.map(Math.round), "the wire follows the pointer");
  await page.mouse.up();
}
const faulty = () => page.waitForFunction(() => /^(One|\d+) fault/.test(document.querySelector("#joined").textContent));
await page.setViewportSize({ width: 1400, height: 1200 });
await drag("hot", wrong);
await faulty();
await isOn("hot", wrong);
await picture(page, folder, "plan-dragged");
await drag("hot", home);
await told("No fault");
// Off all lugs it is loose; by two presses it goes back.
await drag("hot", "");
await faulty();
await isOn("hot", "");
await page.locator("#thing-hot").click();
assert.match(await hand(), /^In hand: hot/);
await page.locator(`[id="thing-${home}"]`).click();
await told("No fault");
// From lug to lug it is a jumper, which is another wiring; undone, the file is as it was.
const [bare, other] = ["L1", "L2", "L3", "R1", "R2", "R3"].filter((lug) => !wires.flat().includes(lug));
await drag(bare, other);
await page.waitForFunction((lug) => [...document.querySelectorAll(".lug-at")].some((of) => of.textContent.includes("jumper to") && of.querySelector(".target").dataset.terminal === lug), bare);
for (let i = 0; i < 5; i += 1) await page.locator("#undo").click();
await page.waitForFunction(() => /the plan of switch/.test(document.querySelector("#undo").textContent));
await told("No fault");
await saved();
assert.equal(readFileSync(join(guitars, "mouse/guitar.toml"), "utf8"), before);
// With a finger.
await page.evaluate(([from, to]) => {
  const send = (type, name) => {
    const of = document.getElementById(`thing-${name}`);
    const { x, y, width, height } = of.getBoundingClientRect();
    of.dispatchEvent(new PointerEvent(type, { clientX: x + width / 2, clientY: y + height / 2, pointerType: "touch", pointerId: 7, isPrimary: true, bubbles: true, button: 0 }));
  };
  document.querySelector(".by-hand").scrollIntoView({ block: "center" });
  send("pointerdown", from);
  send("pointermove", to);
  send("pointerup", to);
}, ["hot", wrong]);
await isOn("hot", wrong);
await faulty();
await page.locator("#undo").click();
await told("No fault");

// What is in the guitar is what one comes back to: its kind of switch and its throws, said to be in and not offered anew. What takes
// its place says so.
await page.goto(at("g/again/plan/"));
await page.locator('#often a:has-text("one coil")').first().click();
await page.waitForFunction(() => document.querySelector("#throw3") && document.querySelector("#put-0"));
const planned = await page.locator("#often, #wanted select").evaluateAll((all) => all.map((own) => own.value));
assert.deepEqual(planned.slice(1), ["on-on-on", "series", "split", "parallel"]);
await page.locator("#put-0").click();
await told("No fault");
await saved();
const isIn = readFileSync(join(guitars, "again/guitar.toml"), "utf8");
await page.locator('nav >> text="Hear"').click();
await page.waitForSelector("#player");
await page.locator('nav >> text="Plan"').click();
await page.waitForSelector("#done");
assert.match(await page.locator("#done").textContent(), /^This is in the guitar: its switch mode does it, soldered as below/);
assert.equal(await page.locator("#put-0").count(), 0);
assert.deepEqual(await page.locator("#kind, #throw1, #throw3").evaluateAll((all) => all.map((own) => own.value)), ["on-on-on", "series", "parallel"]);
assert.match(await page.locator("#throw2").inputValue(), /^split-/);
await page.locator("#kind").selectOption("on-on");
await page.waitForFunction(() => !document.querySelector("#throw3") && document.querySelector("#put-0"));
assert.match(await page.locator('[data-part="plans"] form').first().textContent(), /instead.*takes the place of what is in now, switch mode \(on-on-on\): both coils in series; one coil.*; both coils in parallel\./);
assert.deepEqual(await page.locator('[data-part="plans"] .wiring').first().locator(".position b").allTextContents(), ["Throw 1", "Throw 2"]);
assert.equal(readFileSync(join(guitars, "again/guitar.toml"), "utf8"), isIn);

// By the keyboard alone.
await page.goto(at("g/keys/plan/"));
await page.waitForSelector("#put-0");
await tabTo(page, "#put-0");
await page.keyboard.press("Enter");
await told("No fault");
await asTheCommand("keys", "series,parallel");
const lug = JSON.parse(joints("keys")).find((own) => own.includes("hot")).find((word) => /^[LR]\d$/.test(word));
await tabTo(page, "#thing-hot");
await page.keyboard.press("Enter");
assert.match(await hand(), /^In hand: hot/);
await page.keyboard.press("Escape");
assert.ok(await page.evaluate(() => document.activeElement.id === "thing-hot"), "the focus is where it was");
await page.keyboard.press("Enter");
await page.keyboard.press("Delete");
await isOn("hot", "");
await faulty();
await page.locator("#main").focus();
await tabTo(page, "#thing-hot");
await page.keyboard.press(" ");
await page.locator("#main").focus();
await tabTo(page, `#thing-${lug}`);
await page.keyboard.press("Enter");
await told("No fault");

await looked(page, folder, "plan");

// Wires told at Cavity that another plan makes wrong: said where the plan was put, leading there, and gone once it is true no more.
await page.setViewportSize({ width: 1400, height: 1200 });
const notice = page.locator(".cavity-told");
await page.goto(at("g/wired/plan/"));
await page.locator("#put-0").click();
await told("No fault");
await page.goto(at("g/wired/cavity/"));
await page.locator("#take-plan").click();
await told("as wanted");
await page.goto(at("g/wired/plan/"));
await page.waitForSelector(".is-in");
assert.equal(await notice.count(), 0, "the wires are this circuit");
await page.locator("#throw2").selectOption("split-a");
await page.waitForFunction(() => document.querySelector('#throw2 option[value="split-a"][selected]') && !document.querySelector(".is-in"));
await page.locator("#put-0").click();
await page.waitForSelector('[data-part="plans"] .cavity-told');
assert.match(await notice.textContent(), /^The wires told at Cavity are not this circuit: [a-z]/);
await picture(page, folder, "plan-cavity-told");
await page.locator("#undo").click();
await notice.waitFor({ state: "detached" });
// By hand it is said beside the switch.
await page.goto(at("g/wired/plan/"));
await page.waitForSelector(".is-in");
await drag("hot", "");
await page.waitForSelector('[data-part="cavity-told"] .cavity-told');
assert.equal(await notice.count(), 1);
await notice.locator("a").click();
await told("not as wanted");
assert.ok(page.url().endsWith("/g/wired/cavity/"));

assert.deepEqual(faults, []);
await end();
