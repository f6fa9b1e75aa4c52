// Wires a control cavity in the panel, once by mouse and once by the keyboard alone: the plan taken over, a wire taken off and a wrong one
// added, what is wrong told, and mended by what is offered. `node panel-cavity.js FOLDER` starts the program that DRYWIRE names; with
// DRYWIRE_SCREENSHOTS set it leaves pictures in FOLDER.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdirSync, readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { picture } from "./look.js";
import { devices } from "playwright-core";
import { entered, looked, opened, tabTo } from "./panel-window.js";

const folder = resolve(process.argv[2]);
const guitars = join(folder, "guitars");
const file = (name) => join(guitars, name, "guitar.toml");
for (const name of ["mouse", "keys", "phone"]) {
  mkdirSync(join(guitars, name), { recursive: true });
  execFileSync(process.env.DRYWIRE, ["presets", "copy", "set-neck", file(name)], { stdio: "ignore" });
}
const before = readFileSync(file("mouse"), "utf8");
const { browser, context, page, faults, at, end } = await entered(guitars);
const told = (words) => page.waitForFunction((wanted) => document.querySelector("#joined")?.textContent.startsWith(wanted), words);
const wires = () => page.locator("#wires > li").count();
const saved = () => page.waitForFunction(() => document.querySelector("#saved").textContent === "saved");
const command = (...more) => JSON.parse(execFileSync(process.env.DRYWIRE, ["harness", ...more, "--json"], { stdio: ["ignore", "pipe", "ignore"] }));

// By mouse: the plan is the command's, and so is the verdict.
await page.goto(at("g/mouse/"));
await page.locator('nav >> text="Cavity"').click();
// Before the program has answered nothing is said to be saved.
const meanwhile = [];
await page.route("**/take-plan*", async (route) => {
  meanwhile.push(await page.locator("#saved").textContent());
  await route.continue();
});
await page.locator("#take-plan").click();
await told("as wanted");
await saved();
await page.unroute("**/take-plan*");
assert.deepEqual(meanwhile, ["saving"]);
const planned = command("--guitar", file("mouse")).wires;
assert.equal(await wires(), planned.length);
assert.deepEqual(await page.locator("#wires .key").allTextContents(), planned.map(([one, other]) => `${one} ${other}`));
assert.match(await page.locator("#wires > li").nth(planned.findIndex((ends) => ends.includes("jack.tip"))).textContent(), /the middle lug of the volume control to the jack's tip/);
assert.equal(command("--check", file("mouse")).verdict, "as wanted");
assert.ok(readFileSync(file("mouse"), "utf8").startsWith(before.trimEnd()), "the rest of the file stays");
await picture(page, folder, "cavity-as-wanted");

// A wire is taken off, and the fault has a name; what is offered mends it.
const tip = planned.findIndex((ends) => ends.includes("jack.tip"));
await page.locator(`#take-off-${tip}`).click();
await told("not as wanted yet: one joint is missing, and none is wrong");
await saved();
let checked;
try {
  command("--check", file("mouse"));
} catch (error) {
  checked = JSON.parse(error.stdout);
}
assert.deepEqual(await page.locator("ul.faulty > li").allTextContents(), checked.faults.map((fault) => fault.words));
assert.equal(checked.joints_missing, 1);
await picture(page, folder, "cavity-faulty");
assert.match(await page.locator('[data-part="mends"] li').textContent(), /the middle lug of the volume control to the jack's tip/);
await page.locator("#left-0").click();
await told("as wanted");
// What is no wire is refused, and nothing is saved of it.
await page.locator("form#add-wire button").click();
await page.waitForFunction(() => /not chosen/.test(document.querySelector("#summary").textContent));
for (const end of ["one", "other"]) await page.locator(`#wire-${end}`).selectOption("jack.tip");
await page.locator("form#add-wire button").click();
await page.waitForFunction(() => /to itself/.test(document.querySelector("#summary").textContent));
assert.equal(await wires(), planned.length);
// A wire too many, from hot to ground.
await page.locator("#wire-one").selectOption("jack.tip");
await page.locator("#wire-other").selectOption("jack.sleeve");
await page.locator('form#add-wire button').click();
await told("not as wanted");
assert.equal(await wires(), planned.length + 1);
await page.locator("#undo").click();
await told("as wanted");

// By hand on the drawing. All that is asked for is there, and the drawing stands as a whole within its window.
const target = (name) => page.locator(`[id="at-${name}"]`);
const text = () => readFileSync(file("mouse"), "utf8");
const hand = () => page.locator("#hand").textContent();
/** Waits until the verdict begins so, and list and drawing show so many wires, one with these ends. */
const drawn = async (words, count, ends = "") => {
  await told(words);
  await page.waitForFunction(([wanted, has]) => {
    const all = [...document.querySelectorAll("#wires .key")].map((of) => of.textContent);
    return document.querySelectorAll("[data-hands] .reach").length === wanted && all.length === wanted && (has === "" || all.includes(has));
  }, [count, ends]);
};
const edges = await page.locator("[data-hands]").evaluate((svg) => {
  const [own, board, jack] = [svg, svg.closest(".board"), document.getElementById("at-jack.tip")].map((of) => of.getBoundingClientRect());
  return [jack.right, own.right, board.right, innerWidth].map(Math.round);
});
assert.deepEqual(edges, edges.toSorted((a, b) => a - b), "the drawing fits, the jack in sight");
/** Returns the middle of a terminal on the screen. */
const box = (name) => page.evaluate((id) => {
  const of = document.getElementById(`at-${id}`);
  of.scrollIntoView({ block: "center" });
  const { x, y, width, height } = of.getBoundingClientRect();
  return [x + width / 2, y + height / 2];
}, name);
/** Presses a terminal; the drawing may be told anew meanwhile. */
const press = async (name) => page.mouse.click(...await box(name));
/** Drags from one terminal to another, or beside it. */
async function drag(from, to, [aside, down] = [0, 0]) {
  const [start, goal] = await page.evaluate(async (names) => {
    // A drawing that is fitted into a new window stands still only in the frame after the next.
    for (let i = 0; i < 2; i += 1) await new Promise((drawn) => requestAnimationFrame(drawn));
    document.querySelector("[data-hands]").scrollIntoView({ block: "center" });
    return names.map((name) => {
      const { x, y, width, height } = document.getElementById(`at-${name}`).getBoundingClientRect();
      return [x + width / 2, y + height / 2];
    });
  }, [from, to]);
  const [x, y] = [goal[0] + aside, goal[1] + down];
  await page.mouse.move(...start);
  await page.mouse.down();
  await page.mouse.move((start[0] + x) / 2, (start[1] + y) / 2);
  await page.mouse.move(x, y);
  const line = await page.locator(".held-wire.is-held line").evaluate((of) => ["x2", "y2"].map((name) => Number(of.getAttribute(name))));
  assert.deepEqual(line.map(Math.round), [x, y].map(Math.round), "the wire follows the pointer");
  await page.mouse.up();
}
await saved();
const was = text();
await page.setViewportSize({ width: 1400, height: 1300 });
// The end on the jack's tip is dragged to its sleeve: hot is on ground. Mended by what is offered, byte for byte.
await drag("jack.tip", "jack.sleeve");
await drawn("not as wanted", planned.length, "volume.2 jack.sleeve");
await page.waitForSelector("#mend-0");
await picture(page, folder, "cavity-dragged");
await page.locator("#undo").click();
await drawn("as wanted", planned.length);
// Beside all lugs it goes back to where it was, and nothing changes.
await drag("jack.tip", "jack.tip", [0, -90]);
assert.match(await hand(), /^Nothing in hand/);
await saved();
assert.ok(text() === was, "the file is as before");
// A lead is taken at its own end: its other end goes.
await drag("bridge.a+", "selector.0");
await drawn("not as wanted", planned.length, "selector.0 bridge.a+");
await page.locator("#undo").click();
await drawn("as wanted", planned.length);
// By two presses, a new wire also from a lug that has one; at the same lug again it is the one that is there, and then nothing.
await press("jack.tip");
assert.match(await hand(), /a new wire from the jack's tip\. Press there again for what is on it/);
await press("jack.tip");
assert.match(await hand(), /^In hand: wire \d+ from the middle lug of the volume control, so far on the jack's tip/);
await press("jack.tip");
assert.match(await hand(), /^Nothing in hand/);
await press("jack.tip");
await press("jack.sleeve");
await drawn("not as wanted", planned.length + 1);
// What is not wanted there is taken off.
await press("jack.sleeve");
while (!/so far on the jack's sleeve/.test(await hand()) || !/from the jack's tip/.test(await hand())) await page.locator("#hand-next").click();
await page.locator("#hand-off").click();
await drawn("as wanted", planned.length);
await saved();
assert.ok(text() === was, "the file is as before");
// A wire is picked up where it is drawn, at the end that is nearer.
const at9 = await page.locator('.reach[data-other="jack.tip"]').evaluate((path) => {
  const { x, y } = path.getPointAtLength(path.getTotalLength() - 40).matrixTransform(path.getScreenCTM());
  return [x, y];
});
await page.mouse.click(...at9);
assert.match(await hand(), /so far on the jack's tip/);
await page.locator("#hand-back").click();
assert.match(await hand(), /^Nothing in hand/);
// Two ends of one wire at one place are refused, and the wire stands as before.
await press("jack.tip");
await press("jack.tip");
await press("volume.2");
await page.waitForFunction(() => /^Nothing in hand/.test(document.querySelector("#hand").textContent));
assert.equal(await page.locator(".held-wire.is-held").count(), 0);
// With a finger: the same by touches.
await page.evaluate(() => {
  const at = (name) => {
    const { x, y, width, height } = document.getElementById(`at-${name}`).getBoundingClientRect();
    return { clientX: x + width / 2, clientY: y + height / 2, pointerType: "touch", pointerId: 7, isPrimary: true, bubbles: true, button: 0 };
  };
  const send = (type, name) => {
    const options = at(name);
    (document.elementFromPoint(options.clientX, options.clientY) ?? document.body).dispatchEvent(new PointerEvent(type, options));
  };
  send("pointerdown", "jack.tip");
  send("pointermove", "volume.3");
  send("pointermove", "tone.3");
  send("pointerup", "tone.3");
});
await drawn("not as wanted", planned.length, "volume.2 tone.3");
await page.locator("#undo").click();
await drawn("as wanted", planned.length);
// Larger and smaller; the page itself is never wider than its window.
const wide = () => page.locator("[data-hands]").evaluate((svg) => svg.getBoundingClientRect().width);
const first = await wide();
await page.locator('[data-zoom="in"]').first().click();
const isWide = (than, isWider) => page.waitForFunction(([wanted, more]) => {
  const { width } = document.querySelector("[data-hands]").getBoundingClientRect();
  return more ? width > wanted : width < wanted;
}, [than, isWider]);
await isWide(first * 1.2, true);
await target("jack.tip").focus();
await page.keyboard.press("-");
await page.keyboard.press("-");
await isWide(first * 0.9, false);
await page.keyboard.press("0");
await page.setViewportSize({ width: 1400, height: 900 });

// A part is moved to where it lies: its place stands in the file, its wires are led anew, and undo takes it back.
const places = (name) => readFileSync(file(name), "utf8").match(/^places = (.*)$/m)?.[1];
const edge = (name) => page.evaluate((id) => Number(document.getElementById(`part-${id}`).getAttribute("x")), name);
await page.setViewportSize({ width: 1400, height: 1300 });
await page.locator('[name="hands"][value="move"]').check();
const [jackWas, toneWas] = [await edge("jack"), await edge("tone")];
const grip = await page.evaluate(() => {
  const part = document.getElementById("part-jack");
  part.scrollIntoView({ block: "center" });
  const { x, y, width, height } = part.getBoundingClientRect();
  return [x + width / 2, y + height / 2];
});
await page.mouse.move(...grip);
await page.mouse.down();
await page.mouse.move(grip[0] + 40, grip[1] + 90, { steps: 3 });
assert.match(await page.locator("#part-jack").getAttribute("transform"), /^translate\(/, "the part follows the pointer");
await page.mouse.move(grip[0] + 60, grip[1] + 330, { steps: 3 });
await page.mouse.up();
await page.waitForFunction(() => document.querySelector("#undo").textContent === "Undo jack moved");
await page.waitForFunction((was) => Number(document.getElementById("part-jack").getAttribute("x")) > was, jackWas);
await saved();
assert.match(places("mouse"), /^\{ selector = \[40, 60\], volume = \[80, 60\], tone = \[120, 60\], jack = \[\d+, \d+\] \}$/);
assert.equal(await edge("tone"), toneWas, "the others stay");
assert.deepEqual(await page.locator("[data-hands] .reach").evaluateAll((all) => all.filter((of) => of.getAttribute("d") === "")), [], "every wire is led");
await told("as wanted");
await picture(page, folder, "cavity-moved");
await page.locator("#undo").click();
await page.waitForFunction((was) => Number(document.getElementById("part-jack").getAttribute("x")) === was, jackWas);
await saved();
assert.equal(places("mouse"), undefined);
await page.setViewportSize({ width: 1400, height: 900 });

// By the keyboard alone.
await page.goto(at("g/keys/cavity/"));
await tabTo(page, "#take-plan");
await page.keyboard.press("Enter");
await told("as wanted");
await page.locator("#main").focus();
await tabTo(page, `#take-off-${tip}`);
await page.keyboard.press("Enter");
await told("not as wanted");
await page.locator("#main").focus();
await tabTo(page, "#wire-one");
await page.keyboard.type("jack's sleeve");
await tabTo(page, "#wire-other");
await page.keyboard.type("jack's tip");
await tabTo(page, "form#add-wire button");
await page.keyboard.press("Enter");
await page.waitForFunction((count) => document.querySelectorAll("#wires > li").length === count, planned.length);
await page.locator("#main").focus();
await tabTo(page, "#mend-0");
await page.keyboard.press("Enter");
await page.waitForFunction(() => !/^not as wanted: [2-9]/.test(document.querySelector("#joined").textContent));
for (let i = 0; i < 3; i += 1) await page.locator("#undo").click();
await page.waitForFunction(() => document.querySelector("#undo").textContent === "Undo the planned wires");
await drawn("as wanted", planned.length);
await page.locator("#main").focus();
await tabTo(page, ".target");
const on = () => page.evaluate(() => document.activeElement.getAttribute("data-terminal"));
/** Goes to a terminal by the arrow keys. */
async function arrowsTo(name) {
  for (let presses = 0; presses < 40 && await on() !== name; presses += 1) {
    const key = await page.evaluate((wanted) => {
      const [from, to] = [document.activeElement, document.getElementById(`at-${wanted}`)].map((of) => ["x", "y"].map((name) => Number(of.dataset[name])));
      const [x, y] = [to[0] - from[0], to[1] - from[1]];
      return Math.abs(x) > Math.abs(y) ? (x > 0 ? "ArrowRight" : "ArrowLeft") : y > 0 ? "ArrowDown" : "ArrowUp";
    }, name);
    await page.keyboard.press(key);
  }
  assert.equal(await on(), name);
}
await arrowsTo("volume.2");
await page.keyboard.press("Enter");
await page.keyboard.press("Enter");
assert.match(await hand(), /^In hand: wire \d+ from the jack's tip, so far on the middle lug of the volume control/);
await page.keyboard.press("Escape");
assert.equal(await on(), "volume.2");
assert.match(await hand(), /^Nothing in hand/);
await page.keyboard.press("Enter");
await page.keyboard.press("Enter");
await arrowsTo("volume.1");
await page.keyboard.press(" ");
await drawn("not as wanted", planned.length);
assert.equal(await on(), "volume.1");
await page.waitForSelector("#mend-0");
await page.locator("#main").focus();
await tabTo(page, "#mend-0");
await page.keyboard.press("Enter");
await drawn("as wanted", planned.length);
await page.locator("#main").focus();
await tabTo(page, ".target");
await arrowsTo("jack.tip");
await page.keyboard.press("Enter");
await page.keyboard.press("Enter");
await page.keyboard.press("Delete");
await drawn("not as wanted", planned.length - 1);

await page.locator("#undo").click();
await drawn("as wanted", planned.length);
await page.locator("#main").focus();
await tabTo(page, '[name="hands"]');
await page.keyboard.press("ArrowRight");
await tabTo(page, ".movable");
await page.keyboard.press("ArrowRight");
assert.equal(await page.evaluate(() => document.activeElement.id), "part-volume");
const volumeWas = await edge("volume");
await page.keyboard.press("Enter");
await page.keyboard.press("Shift+ArrowRight");
await page.keyboard.press("Escape");
assert.equal(await page.locator("#part-volume").getAttribute("transform"), null);
await page.keyboard.press("Enter");
for (let i = 0; i < 5; i += 1) await page.keyboard.press("Shift+ArrowRight");
await page.keyboard.press("ArrowRight");
await page.keyboard.press("Enter");
await page.waitForFunction((was) => Number(document.getElementById("part-volume").getAttribute("x")) > was + 100, volumeWas);
assert.equal(await page.evaluate(() => document.activeElement.id), "part-volume");
await saved();
assert.match(places("keys"), /volume = \[1[2-9]\d, 60\]/);
await looked(page, folder, "cavity-moving");
await page.locator('[name="hands"][value="solder"]').check();

await looked(page, folder, "cavity");
// On a phone, with nothing but fingers: an unfinished cavity lacks one joint less with every one that is told, the verdict leaves
// nearly all of the window to the drawing, nothing is said of keys, and what is in hand is told below the drawing.
const phone = await browser.newContext({ ...devices["Pixel 7"], viewport: { width: 390, height: 844 } });
await phone.addCookies(await context.cookies());
const small = await opened(phone, at("g/phone/cavity/"), faults);
const joined = () => small.locator("#joined").textContent();
await small.locator("#wire-one").selectOption("volume.2");
await small.locator("#wire-other").selectOption("jack.tip");
await small.locator("form#add-wire button").click();
for (let left = planned.length - 1; left > planned.length - 4; left -= 1) {
  await small.waitForFunction((words) => document.querySelector("#joined").textContent.startsWith(words), `not as wanted yet: ${left} joints are missing`);
  assert.equal(await small.locator('[data-part="mends"] li').count(), left);
  await small.locator("#left-0").click();
}
await small.waitForFunction((count) => document.querySelectorAll('[data-part="mends"] li').length === count, planned.length - 4);
assert.doesNotMatch(await joined(), /fault/);
for (const words of await small.locator(".by-keys").all()) assert.equal(await words.isVisible(), false);
const bar = async () => {
  const [verdict, hand] = await small.evaluate(() => [".at-hand", ".in-hand"].map((of) => document.querySelector(of).getBoundingClientRect().toJSON()));
  return { verdict, hand };
};
assert.ok((await bar()).verdict.height < 844 / 8, JSON.stringify(await bar()));
assert.ok((await bar()).hand.top >= 844, "nothing is in hand");
await small.locator("[data-hands]").scrollIntoViewIfNeeded();
await small.locator('[id="at-jack.tip"]').tap();
assert.match(await small.locator("#hand").textContent(), /^In hand: /);
assert.ok((await bar()).hand.bottom <= 844, "what is in hand is in sight");
await picture(small, folder, "cavity-in-hand-390");
await small.locator("#hand-back").tap();
assert.ok((await bar()).hand.top >= 844);
await small.locator('[name="hands"][value="move"]').check();
assert.match(await small.locator(".how-move").innerText(), /^Press a part to pick it up, and where it lies to put it down; or drag it there\.$/);
await phone.close();

assert.deepEqual(faults, []);
await end();
