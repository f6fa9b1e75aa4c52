// Finds in the panel which lead is which, once by mouse and once by the keyboard alone, with a reading that must be asked back
// and one that is taken back; what goes into the guitar's file is byte for byte what the command puts there.
// `node panel-leads.js FOLDER` starts the program that DRYWIRE names; with DRYWIRE_SCREENSHOTS set it leaves pictures in FOLDER.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { existsSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { picture } from "./look.js";
import { entered, looked, tabTo } from "./panel-window.js";

const folder = resolve(process.argv[2]);
const guitars = join(folder, "guitars");
const GUITAR = "# kept as it is\nformat = 1\nname = \"drawer\"\n\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n\n[[pickup]]\nname = \"neck\"\nlike = \"mini\"\n";
for (const name of ["mouse", "keys"]) {
  mkdirSync(join(guitars, name), { recursive: true });
  writeFileSync(join(guitars, name, "guitar.toml"), GUITAR);
}
const { page, faults, at, end } = await entered(guitars);

/** The pickup on the bench: of each coil its + lead, its − lead and its ohms. */
const COILS = { near: ["white", "grey", "3.61k"], far: ["red", "blue", "4.05k"] };

/** Returns what a meter shows for what the page asks. */
async function meter() {
  const form = await page.locator('[data-part="next"] form:has([name="kind"])').evaluate((own) => Object.fromEntries(new FormData(own)));
  if (form.kind === "ohms") {
    const coil = Object.values(COILS).find((own) => own.includes(form.one) && own.includes(form.other));
    return { ...form, reads: coil ? coil[2] : "open" };
  }
  assert.equal(form.kind, "tap");
  const [plus, minus] = COILS[form.coil];
  const reads = form.one === plus && form.other === minus ? "+" : form.one === minus && form.other === plus ? "-" : "none";
  return { ...form, reads };
}

const readings = () => page.locator("ol.taken > li").count();
async function counted(count) {
  await page.waitForFunction((wanted) => document.querySelectorAll("ol.taken > li").length === wanted, count);
}

/** Waits until the page says why something was not done. */
const refused = (words) => page.waitForFunction((wanted) => document.querySelector("#summary").textContent.includes(wanted), words);

/** Answers until every lead is known, by `answer`, and returns how many readings that took. */
async function identified(answer) {
  for (;;) {
    if (await page.locator("#put").count() > 0) return readings();
    const before = await readings();
    assert.ok(before < 20, "it ends");
    await answer(await meter());
    await counted(before + 1);
  }
}

/** Holds what was put into a guitar's file to what the command puts there from the same readings. */
async function asTheCommand(name) {
  const own = join(guitars, name, "guitar.toml");
  await page.waitForFunction(() => document.querySelector("#saved").textContent === "saved");
  const copy = join(folder, `${name}.toml`);
  writeFileSync(copy, GUITAR);
  execFileSync(process.env.DRYWIRE, ["leads", join(guitars, name, "readings/leads-neck.toml"), "--save", copy, "--pickup", "neck"], { stdio: "ignore" });
  assert.notEqual(readFileSync(own, "utf8"), GUITAR);
  assert.deepEqual(readFileSync(own), readFileSync(copy));
}

// By mouse.
await page.goto(at("g/mouse/"));
await page.locator('nav >> text="Leads"').click();
await page.waitForSelector("#leads");
await page.locator("#heard").selectOption("neck");
await page.waitForFunction(() => location.search.includes("heard=neck"));
await page.locator("#leads").fill("white, grey, white, blue");
await page.locator('form >> text="Begin"').click();
await refused("second lead is called");
await page.locator("#leads").fill("white");
await page.locator("#shield").fill("bare");
await page.locator('form >> text="Begin"').click();
await refused("two coils have three ends or more");
await page.locator("#leads").fill("white, grey, red, blue");
await page.locator("#shield").fill("bare");
await page.locator('form >> text="Begin"').click();
await page.waitForSelector("#verdict");
assert.match(await page.locator("#verdict").textContent(), /^Nothing is read yet\. The leads can be assigned in \d+ ways/);
await picture(page, folder, "leads-begun");
// What may be ohms or kilohms is asked back with a button for each, the text stays, and nothing is taken.
const meant = () => page.locator('button[name="meant"]').allTextContents();
await page.locator("#reads").fill("5.9");
await page.locator('[data-part="next"] >> text="Take it"').click();
await refused("what does the meter say by 5.9?");
assert.equal(await page.locator("#reads").inputValue(), "5.9");
assert.deepEqual(await meant(), ["5.9 Ω", "5.9 kΩ"]);
assert.equal(await readings(), 0);
await page.locator('button[name="meant"]').last().click();
await counted(1);
assert.deepEqual(await meant(), []);
assert.match(await page.locator("ol.taken li").first().textContent(), /5\.9/);
await page.locator("#take-back-0").click();
await counted(0);
// So is one that is not asked for, between its own leads.
await page.locator("#any summary").click();
await page.locator("#ohms-one").selectOption("grey");
await page.locator("#ohms-other").selectOption("blue");
await page.locator("#ohms-reads").fill("3,94");
await page.locator('form:has(#ohms-reads) >> text="Take it"').click();
await refused("what does the meter say by 3,94?");
assert.deepEqual(await page.locator("#ohms-one, #ohms-other, #ohms-reads").evaluateAll((all) => all.map((own) => own.value)), ["grey", "blue", "3,94"]);
await page.locator('form:has(#ohms-reads) button[name="meant"]').last().click();
await counted(1);
await page.locator("#take-back-0").click();
await counted(0);
// A reading that is wrong is taken back, the second of them, and the file keeps what a person wrote into it.
await page.locator("#ohms-one").selectOption("white");
await page.locator("#ohms-other").selectOption("grey");
await page.locator("#ohms-reads").fill("open");
await page.locator('form:has(#ohms-reads) >> text="Take it"').click();
await counted(1);
// The same once more says nothing new.
await page.locator("#ohms-reads").fill("OL");
await page.locator('form:has(#ohms-reads) >> text="Take it"').click();
await refused("in the list already");
assert.equal(await readings(), 1);
// What was opened stays open under what is told anew.
await page.locator("#ohms-reads").fill("4.0");
assert.equal(await page.locator("#any").evaluate((own) => own.open), true);
const record = join(guitars, "mouse/readings/leads-neck.toml");
writeFileSync(record, readFileSync(record, "utf8").replace("[[ohms]]", "# shaky hands\n[[ohms]]"));
await page.locator("#take-back-0").click();
await counted(0);
assert.ok(!readFileSync(record, "utf8").includes("open"));
const took = await identified(async ({ kind, reads }) => {
  if (kind === "ohms") {
    if (reads === "open") {
      await page.locator("#open").click();
      return;
    }
    await page.locator("#reads").fill(reads);
    await page.locator('[data-part="next"] >> text="Take it"').click();
  } else {
    await page.locator(`[data-part="next"] button[value="${reads}"]`).click();
  }
});
assert.equal(await page.locator('[data-part="found"] tr:has-text("white") td').first().textContent(), "near");
// With every lead certain, the ohms that no reading has told yet are asked for.
const isOfACoil = (reading) => reading.kind === "ohms" && ![reading.one, reading.other].includes("bare");
for (let wanted = await meter(); isOfACoil(wanted); wanted = await meter()) {
  const before = await readings();
  await page.locator("#reads").fill(wanted.reads);
  await page.locator('[data-part="next"] >> text="Take it"').click();
  await counted(before + 1);
}
await page.locator("#put").click();
await page.waitForFunction(() => !document.querySelector("#undo").disabled);
await asTheCommand("mouse");
assert.match(readFileSync(join(guitars, "mouse/guitar.toml"), "utf8"), /resistance = "3.61k"[^]*resistance = "4.05k"/);
// It is said to be in, and what is next.
await page.waitForSelector("#is-in");
assert.equal(await page.locator("#put").count(), 0);
assert.equal(await page.locator('[data-part="next"] a[href*="/plan/?heard=neck"]').count(), 1);
await page.locator('nav >> text="Guitar"').click();
await page.waitForSelector('[data-part="told-by-leads"] p');
assert.match(await page.locator('[data-part="told-by-leads"]').textContent(), /^As Leads has pickup neck: coil A is near: 3\.61 kΩ, top pole .*; coil B is far: 4\.05 kΩ/);
await page.goto(at("g/mouse/leads/?heard=neck"));
await page.waitForSelector("#is-in");
await page.locator("#undo").click();
await page.waitForFunction(() => document.querySelector("#undo").disabled && document.querySelector("#saved").textContent === "saved");
assert.equal(readFileSync(join(guitars, "mouse/guitar.toml"), "utf8"), GUITAR);

// By the keyboard alone.
await page.goto(at("g/keys/leads/?heard=neck"));
await tabTo(page, "#leads");
await page.keyboard.type("white, grey, red, blue");
await page.keyboard.press("Enter");
await page.waitForSelector("#verdict");
await identified(async ({ kind, reads }) => {
  if (kind === "ohms") {
    await tabTo(page, "#reads");
    await page.keyboard.type(reads);
    await page.keyboard.press("Enter");
  } else {
    await tabTo(page, `[data-part="next"] button[value="${reads}"]`);
    await page.keyboard.press("Enter");
  }
});
await tabTo(page, "#put");
await page.keyboard.press("Enter");
await page.waitForFunction(() => !document.querySelector("#undo").disabled);
await asTheCommand("keys");
console.log(`${took} readings to certain`);

// Readings that clash are named.
await page.locator("#any summary").click();
await page.locator("#ohms-reads").fill("12");
await page.locator("#ohms-reads").fill("12k");
await page.locator('form:has(#ohms-reads) >> text="Take it"').click();
await page.waitForFunction(() => /^Contradictory/.test(document.querySelector("#verdict").textContent));
await page.waitForSelector('h2:has-text("Clash 1 of")');

await looked(page, folder, "leads");
await page.locator("#begin-anew").click();
await page.waitForSelector("#leads");
assert.ok(!existsSync(join(guitars, "keys/readings/leads-neck.toml")));

// A pickup that is in no guitar: found on the bench, then a guitar is made with it, or it goes into one.
for (const [called, into] of [["", null], ["Second one", "mouse/neck"]]) {
  await page.setViewportSize({ width: 1400, height: 900 });
  await page.goto(at(""));
  await page.locator('nav >> text="Leads"').click();
  await page.waitForSelector("#called");
  await page.locator("#called").fill(called);
  await page.locator("#leads").fill("white, grey, red, blue");
  await page.locator('form >> text="Begin"').click();
  await page.waitForSelector("#verdict");
  const record = join(guitars, "readings", `leads-${called ? "second-one" : "pickup"}.toml`);
  for (let before = 0; await page.locator("#make-guitar").count() === 0; before += 1) {
    const { kind, reads } = await meter();
    if (kind === "ohms") {
      await page.locator("#reads").fill(reads);
      await page.locator('[data-part="next"] >> text="Take it"').click();
    } else {
      await page.locator(`[data-part="next"] button[value="${reads}"]`).click();
    }
    await counted(before + 1);
  }
  if (!into) await looked(page, folder, "bench");
  const found = JSON.parse(execFileSync(process.env.DRYWIRE, ["leads", record, "--json"], { stdio: ["ignore", "pipe", "ignore"] }));
  assert.equal(found.verdict, "certain");
  const copy = join(folder, "bench.toml");
  writeFileSync(copy, readFileSync(record));
  if (into) {
    await page.locator("#into").selectOption(into);
    await page.locator("#put").click();
    await page.waitForURL(/g\/mouse\/leads\/\?heard=neck/);
    await page.waitForSelector("#saved");
    // The readings that the pickup had in that guitar stay, and so do these.
    assert.ok(existsSync(record));
  } else {
    await page.locator("#make-guitar").click();
    await page.waitForSelector("#name");
    await page.locator("#name").fill("From it");
    await page.locator('input[name="count"][value="2"]').check({ force: true });
    await page.waitForSelector('input[name="bench_at"]');
    await page.locator('input[name="bench_at"][value="1"]').check();
    await page.waitForFunction(() => document.querySelector("#a_1") && !document.querySelector("#a_2"));
    // A pickup of two coils is of no kind that has one.
    await page.locator("#kind_2").selectOption("single-coil");
    await page.locator('button:has-text("Make the guitar")').click();
    await page.waitForFunction(() => /has 2 coils, and this kind 1/.test(document.querySelector("#faults").textContent));
    await page.locator("#kind_2").selectOption("mini");
    await page.locator('button:has-text("Make the guitar")').click();
    await page.waitForURL(/g\/from-it\/$/);
    const own = readFileSync(join(guitars, "from-it/guitar.toml"), "utf8");
    assert.match(own, /\[pickup.coil_a\]\n(resistance = "3.61k"\n)?leads = \{ plus = "white", minus = "grey" \}/);
    assert.match(own, /name = "bridge"\nlike = "unknown"/);
    // What is not known is marked as assumed.
    assert.equal(await page.locator('[data-part="f-pickup[0].like"] .from').textContent(), "assumed");
    assert.equal(await page.locator('[data-part="f-pickup[1].like"] .from').textContent(), "in the file");
    // The readings lie with the guitar now.
    assert.ok(!existsSync(record));
    assert.deepEqual(readFileSync(join(guitars, "from-it/readings/leads-neck.toml")), readFileSync(copy));
  }
}
assert.deepEqual(faults, []);
await end();
