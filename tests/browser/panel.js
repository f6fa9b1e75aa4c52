// Works in the panel as a person does: by mouse, by keyboard alone, in two windows, at a desk and on phones, in light and dark;
// and tries from another port of this machine what a page can try. `node panel.js FOLDER` starts the program that DRYWIRE
// names; with DRYWIRE_SCREENSHOTS set it leaves pictures in FOLDER.

import assert from "node:assert/strict";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { createServer } from "node:http";
import { join, resolve } from "node:path";
import { accessible, fits, launched, picture } from "./look.js";
import { opened, started } from "./panel-window.js";

const folder = resolve(process.argv[2]);
const guitars = join(folder, "guitars");

/** Waits until the file of the guitar in `name` is as `is` wants it, and returns it. */
async function saved(name, is) {
  for (let tries = 0; tries < 200; tries += 1) {
    let text = "";
    try {
      text = readFileSync(join(guitars, name, "guitar.toml"), "utf8");
    } catch { /* not there yet */ }
    if (is(text)) return text;
    await new Promise((again) => setTimeout(again, 50));
  }
  throw new Error(`never so: ${is}`);
}

const MADE = `format = 1
name = "Blue one"

[[pickup]]
name = "bridge"
like = "unknown"
[pickup.coil_a]
resistance = "3.61k"
[pickup.coil_b]
resistance = "4.05k"

[controls]
volume = { pot = "236k" }
tone = { pot = "262k" }
`;

const browser = await launched();
const context = await browser.newContext({ viewport: { width: 1400, height: 900 } });
const faults = [];
const { panel, address } = await started(guitars);
const page = await opened(context, address, faults);

// A guitar by questions, by mouse.
await page.locator("a.button").click();
await page.locator("#name").fill("Blue one");
for (const [id, value] of [["a_1", "3.61k"], ["b_1", "4.05k"], ["volume", "236k"], ["tone", "262k"], ["cable", "don't know"]]) await page.locator(`#${id}`).fill(value);
await page.locator("button.strong").click();
await page.waitForSelector("#undo");
assert.equal(await saved("blue-one", (text) => text !== ""), MADE);

// Three values changed, a comment by hand meanwhile, two taken back.
const field = (place) => page.locator(`[data-place="${place}"]`);
await field("pickup[0].coil_a.resistance").fill("3,7");
await page.waitForFunction(() => document.querySelector("#fv-pickup-0--coil_a-resistance .reads").textContent === "3.70 kΩ");
await field("cable.length").fill("6");
await saved("blue-one", (text) => text.includes("6 m"));
const curve = () => page.locator(".curves-drawn .chosen").getAttribute("d");
const before = await curve();
await field("controls.volume.turned").fill("5");
await page.waitForFunction((old) => document.querySelector(".curves-drawn .chosen").getAttribute("d") !== old, before);
const changed = await saved("blue-one", (text) => text.includes("turned = 5"));
writeFileSync(join(guitars, "blue-one/guitar.toml"), changed.replace("[controls]", "# from the drawer\n[controls]"));
await page.waitForFunction(() => Number(document.body.dataset.number) > 4);
await page.locator("#undo").click();
await page.waitForFunction(() => document.querySelector('[data-place="controls.volume.turned"]').value === "10");
await page.locator("#undo").click();
const back = await saved("blue-one", (text) => !text.includes("6 m"));
assert.equal(back, MADE.replace("3.61k", "3.7k").replace("[controls]", "# from the drawer\n[controls]"));

// What may be meant in two ways is asked.
await field("pickup[0].coil_b.resistance").fill("4,050");
await page.locator('[data-write="4050"]').click();
await saved("blue-one", (text) => text.includes('resistance = "4050"'));

// A second window sees it, and its undo counts in the first.
const second = await opened(context, page.url(), faults);
await second.locator('[data-place="name"]').fill("Green one");
await page.waitForFunction(() => document.querySelector("h1").textContent === "Green one");
await page.keyboard.press("Escape");
await page.locator("#undo").click();
await second.waitForFunction(() => document.querySelector("h1").textContent === "Blue one");
// A box that is not being typed in follows what another window has made of its value.
await second.locator('[data-place="controls.volume.pot"]').fill("270k");
await saved("blue-one", (text) => text.includes("270k"));
await field("controls.volume.pot").fill("290k");
await second.waitForFunction(() => document.querySelector('[data-place="controls.volume.pot"]').value === "290k");
await page.locator("#undo").click();
await second.waitForFunction(() => document.querySelector('[data-place="controls.volume.pot"]').value !== "290k");
await second.close();

// Parts added and taken out again.
for (const part of ["bleed", "bass_cut"]) {
  await page.locator(`button[value="controls.${part}"]`).click();
  await page.waitForSelector(`[data-place="controls.${part}.capacitor"]`);
}
await page.locator('button[value="switch"]').click();
await page.waitForSelector('[data-place="switch[0].joints"]');
assert.ok((await saved("blue-one", (text) => text.includes("[[switch]]"))).includes('joints = [["a+", "hot", "L3"]'));
await page.locator('[data-part="r-switch[0]"] button').click();
await page.waitForSelector('[data-place="switch[0].joints"]', { state: "detached" });

// A copy, shown beside its original.
await page.locator(".places a").first().click();
await page.locator(".more summary").first().click();
await page.locator(".more button").first().click();
await page.waitForSelector(".curve.beside");
await field("pickup[0].coil_a.inductance").fill("2.3");
await page.waitForFunction(() => document.querySelector('[data-part="differences"]').textContent.includes("inductance"));

// Everywhere, in every size and both themes.
const guitar = page.url();
const base = await page.evaluate(() => document.body.dataset.base);
const origin = new URL(guitar).origin;
mkdirSync(join(guitars, "faulty"));
writeFileSync(join(guitars, "faulty/guitar.toml"), "format = 1\nscale = 648\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n[pickup.coil_a]\nresistance = \"lots\"\n");
const places = [["guitars", `${origin}${base}`], ["new", `${origin}${base}new?count=3`], ["guitar", guitar], ["faulty", `${origin}${base}g/faulty/`], ["file", `${origin}${base}g/faulty/file`]];
for (const [name, place] of places) {
  for (const width of [1400, 390, 320]) {
    for (const colorScheme of ["light", "dark"]) {
      await page.setViewportSize({ width, height: 900 });
      await page.emulateMedia({ colorScheme });
      await page.goto(place);
      await page.waitForSelector("main h1");
      await fits(page, width);
      await accessible(page, `${name} ${width} ${colorScheme}`);
      await picture(page, folder, `panel-${name}-${width}-${colorScheme}`);
    }
  }
}
// As large as 200 %.
await page.setViewportSize({ width: 640, height: 450 });
await page.goto(guitar);
await fits(page, 640);

// By keyboard alone: to the questions, a guitar of two pickups, a value changed, undone by its key.
await page.setViewportSize({ width: 1400, height: 900 });
await page.goto(`${origin}${base}`);
const focused = () => page.evaluate(() => {
  const { activeElement: own } = document;
  return own.dataset.place ?? (own.id || `${own.name ?? ""}${own.value ?? own.textContent ?? ""}`.trim());
});
/** Presses the tab key until the focus is on `wanted`. */
async function tabTo(wanted) {
  for (let presses = 0; presses < 120; presses += 1) {
    if ((await focused()) === wanted) return;
    await page.keyboard.press("Tab");
  }
  throw new Error(`the tab key does not reach ${wanted}`);
}
await page.keyboard.press("Tab");
assert.equal(await focused(), "Skip to the page's content");
await tabTo("New guitar");
await page.keyboard.press("Enter");
await page.waitForSelector("#name");
await tabTo("name");
await page.keyboard.type("Keys only");
await tabTo("count1");
await page.keyboard.press("ArrowRight");
await page.waitForSelector("#kind_2");
await tabTo("a_2");
await page.keyboard.type("4.2");
await page.keyboard.press("Enter");
await page.waitForSelector("#undo");
await saved("keys-only", (text) => text.includes('resistance = "4.2k"') && text.includes("three-way-toggle"));
await tabTo("cable.length");
await page.keyboard.type("5 m");
await saved("keys-only", (text) => text.includes('length = "5 m"'));
await page.keyboard.press("Tab");
assert.notEqual(await focused(), "cable.length");
await tabTo("cable.per_metre");
await page.keyboard.press("Shift+Tab");
await page.locator("#undo").focus();
await page.keyboard.press("Enter");
await saved("keys-only", (text) => !text.includes("5 m"));

// From another port of this machine: a page there tries whatever a page can, with the panel's whole address at hand.
const tried = [];
const answered = [];
const target = `${origin}${base}g/blue-one`;
const evil = createServer((_request, answer) => {
  answer.setHeader("Content-Type", "text/html");
  answer.end(`<!doctype html><title>other</title><iframe src="${target}/"></iframe><img src="${origin}${base}icon.svg"><link rel="stylesheet" href="${origin}${base}style.css"><script src="${origin}${base}panel.js"></script>
    <form method="post" action="${target}/set" target="hidden"><input name="place" value="name"><input name="value" value="theirs"></form><iframe name="hidden"></iframe>`);
});
await new Promise((listening) => evil.listen(0, "127.0.0.1", listening));
const other = await context.newPage();
other.on("request", (request) => {
  if (request.url().startsWith(origin)) tried.push(`${request.method()} ${request.resourceType()}`);
});
other.on("response", (response) => {
  if (response.url().startsWith(origin)) answered.push(response.status());
});
await other.goto(`http://127.0.0.1:${evil.address().port}/`);
const posted = other.waitForResponse((response) => response.url() === `${target}/set` && response.request().resourceType() === "document");
await other.evaluate(async ([at, root]) => {
  const form = new URLSearchParams({ place: "name", value: "theirs" });
  const ways = [
    () => fetch(`${at}/`, { credentials: "include" }),
    () => fetch(`${at}/`, { credentials: "include", mode: "no-cors" }),
    () => fetch(`${at}/set`, { method: "POST", body: form, credentials: "include" }),
    () => fetch(`${at}/set`, { method: "POST", body: form, credentials: "include", mode: "no-cors" }),
    () => fetch(`${at}/set`, { method: "PUT", body: form, credentials: "include" }),
    () => fetch(`${at}/set`, { method: "POST", body: "{}", headers: { "Content-Type": "application/json" }, credentials: "include" }),
    async () => navigator.sendBeacon(`${at}/set`, form),
    () => new Promise((done) => {
      const events = new EventSource(`${root}events`, { withCredentials: true });
      events.onmessage = () => { throw new Error("it was told"); };
      events.onerror = () => { events.close(); done(null); };
    }),
    () => new Promise((done) => {
      const socket = new WebSocket(`${root.replace("http", "ws")}events`);
      socket.onopen = () => { throw new Error("it was opened"); };
      socket.onerror = () => done(null);
    }),
  ];
  for (const way of ways) await way().catch(() => null);
  document.forms[0].submit();
}, [target, `${origin}${base}`]);
await posted;
assert.ok(tried.length >= 10, tried.join(", "));
assert.ok(answered.length > 0 && answered.every((status) => status === 403), answered.join(" "));
evil.close();
await other.close();
assert.ok((await saved("blue-one", () => true)).includes('name = "Blue one"'));

// The whole life of a panel: it ends, and says so.
await page.goto(guitar);
await page.waitForSelector("#undo");
const expected = faults.filter((text) => !text.includes("Failed to load resource"));
assert.deepEqual(expected, []);
panel.kill("SIGTERM");
await page.waitForSelector("#ended:not([hidden])");
await browser.close();
