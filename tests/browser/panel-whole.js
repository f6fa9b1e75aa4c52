// The whole job in the panel, from an unknown pickup to a guitar that is proven and a page that is sent: once by mouse, once by the
// keyboard alone, with a joint taken off by mistake and mended on the way. What it saves is byte for byte what the commands put into
// a copy. `node panel-whole.js FOLDER` starts the program that DRYWIRE names; with DRYWIRE_SCREENSHOTS set it leaves pictures in
// FOLDER.

import assert from "node:assert/strict";
import { execFileSync, spawnSync } from "node:child_process";
import { copyFileSync, existsSync, readFileSync, readdirSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { picture } from "./look.js";
import { entered, tabTo } from "./panel-window.js";

const folder = resolve(process.argv[2]);
const guitars = join(folder, "guitars");
const { browser, page, faults, at, end } = await entered(guitars);

/** The pickup on the bench: of each coil its + lead, its − lead, its ohms and the pole at its top. */
const COILS = { near: ["white", "grey", "3.61k", "north"], far: ["red", "blue", "4.05k", "south"] };

/** How a person does what there is to do: each way is given what it is done to. */
const HANDS = {
  mouse: {
    press: (selector) => page.locator(selector).click(),
    type: (selector, text) => page.locator(selector).fill(text),
    choose: (selector, value) => page.locator(selector).selectOption(value),
    check: (name, value) => page.locator(`input[name="${name}"][value="${value}"]`).check({ force: true }),
  },
  keys: {
    async press(selector) {
      await tabTo(page, selector);
      await page.keyboard.press("Enter");
    },
    async type(selector, text) {
      await tabTo(page, selector);
      await page.keyboard.press("ControlOrMeta+A");
      await page.keyboard.type(text);
    },
    async choose(selector, value) {
      await tabTo(page, selector);
      const places = await page.locator(selector).evaluate((own, wanted) => [own.selectedIndex, [...own.options].findIndex((option) => option.value === wanted)], value);
      const [from, to] = places;
      for (let step = Math.abs(to - from); step > 0; step -= 1) await page.keyboard.press(to > from ? "ArrowDown" : "ArrowUp");
    },
    async check(name, value) {
      await tabTo(page, `input[name="${name}"]`);
      const radio = page.locator(`input[name="${name}"][value="${value}"]`);
      for (let presses = 0; presses < 40 && !await radio.isChecked(); presses += 1) await page.keyboard.press("ArrowDown");
      assert.ok(await radio.isChecked(), `${name} ${value}`);
    },
  },
};

/** Waits until the text of what `selector` finds begins so. */
const told = (selector, words) => page.waitForFunction(([of, wanted]) => document.querySelector(of)?.textContent.trim().startsWith(wanted), [selector, words]);
const saved = () => told("#saved", "saved");

/** Returns what a meter, a needle or a compass shows for what the page asks. */
async function shown() {
  const form = await page.locator('[data-part="next"] form:has([name="kind"])').evaluate((own) => Object.fromEntries(new FormData(own)));
  const [plus, minus, , pole] = COILS[form.coil] ?? [];
  switch (form.kind) {
    case "ohms":
      return { ...form, reads: Object.values(COILS).find((own) => own.includes(form.one) && own.includes(form.other))?.[2] ?? "open" };
    case "tap":
      return { ...form, reads: form.one === plus && form.other === minus ? "+" : form.one === minus && form.other === plus ? "-" : "none" };
    default:
      return { ...form, reads: pole };
  }
}

for (const [name, { press, type, choose, check }] of Object.entries(HANDS)) {
  const begun = Date.now();
  const own = join(guitars, `by-${name}`);
  const file = join(own, "guitar.toml");
  const copy = join(folder, `${name}.toml`);
  const command = (...args) => execFileSync(process.env.DRYWIRE, args, { stdio: ["ignore", "pipe", "ignore"] });
  /** Lets the command do to a copy of the guitar what is done here, and holds the guitar to that. */
  const asTheCommand = async (...args) => {
    await saved();
    command(...args, "--save", copy);
    assert.equal(readFileSync(file, "utf8"), readFileSync(copy, "utf8"));
  };
  const goTo = async (place, there) => {
    await press(`nav.places a[href$="/${place.toLowerCase()}/"]`);
    await page.waitForSelector(there);
  };

  // The first questions.
  await page.goto(at(""));
  await press('main a[href$="/new"]');
  await page.waitForSelector("#name");
  await type("#name", `By ${name}`);
  await check("knobs", "volume");
  await page.waitForSelector("#tone", { state: "detached" });
  await type("#volume", "500");
  await press("button.strong");
  await page.waitForSelector("#undo");
  await picture(page, folder, `whole-guitar-${name}`);
  copyFileSync(file, copy);

  // Which lead is which, until nothing more is worth a reading.
  await goTo("Leads", "#leads");
  await type("#leads", "white, grey, red, blue");
  await type("#shield", "bare");
  await press('form[action$="/begin"] button');
  await page.waitForSelector("#verdict");
  const readings = () => page.locator("ol.taken > li").count();
  for (let before = 0; await page.locator('[data-part="next"] form:has([name="kind"])').count() > 0; before += 1) {
    assert.ok(before < 20, "it ends");
    const { kind, reads } = await shown();
    if (kind !== "ohms") {
      await press(`[data-part="next"] button[value="${reads}"]`);
    } else if (reads === "open") {
      await press("#open");
    } else {
      await type("#reads", reads);
      await press('[data-part="next"] form:has(#reads) button.strong');
    }
    await page.waitForFunction((wanted) => document.querySelectorAll("ol.taken > li").length === wanted, before + 1);
  }
  const took = await readings();
  await told("#verdict", "Certain");
  await press("#put");
  await page.waitForFunction(() => !document.querySelector("#undo").disabled);
  await asTheCommand("leads", join(own, "readings/leads-bridge.toml"), "--pickup", "bridge");

  // A switch that has both coils, and one.
  await goTo("Plan", "#put-0");
  await choose("#throw2", "split-a");
  await page.waitForFunction(() => document.querySelector('#throw2 option[value="split-a"][selected]') && document.querySelector("#put-0"));
  assert.match(await page.locator("#fewest").textContent(), /^\d joints at least/);
  await press("#put-0");
  await told("#joined", "No fault");
  await asTheCommand("lugs", "--switch", "on-on", "--throws", "series,split-a");

  // The cavity as planned; a wire is taken off that belongs there, what comes of it has a name, and the joint that is missing is offered.
  await goTo("Cavity", "#take-plan");
  await press("#take-plan");
  await told("#joined", "as wanted");
  await saved();
  const planned = readFileSync(file, "utf8");
  const wires = JSON.parse(command("harness", "--guitar", file, "--json")).wires;
  await press(`#take-off-${wires.findIndex((ends) => ends.includes("jack.tip"))}`);
  await told("#joined", "not as wanted");
  assert.ok(await page.locator("ul.faulty > li").count() > 0);
  await press("#left-0");
  await told("#joined", "as wanted");
  await saved();
  assert.equal(JSON.parse(command("harness", "--check", file, "--json")).verdict, "as wanted");
  // But for the wires that are stated, the file is what the commands made of the copy.
  assert.ok(planned.startsWith(readFileSync(copy, "utf8").trimEnd()));

  // What the meter reads in each throw is as it must be.
  await goTo("Prove", "#at-the-jack");
  const { throws } = JSON.parse(command("probe", "--guitar", file, "--json"));
  assert.deepEqual(throws.map((row) => row.throw), ["mode:1", "mode:3"]);
  const reads = throws.map((row) => `${(row.expected_ohm / 1000).toFixed(2)}k`);
  for (const [i, row] of throws.entries()) {
    await type(`input[data-place="${row.throw}"]`, reads[i]);
    await page.waitForFunction((place) => document.querySelector(`input[data-place="${place}"]`).closest(".field").querySelector(".judgement").textContent.includes("as it must"), row.throw);
  }
  await told(".verdict", "As expected");
  const proof = spawnSync(process.env.DRYWIRE, ["probe", "--guitar", file, "--json", ...throws.flatMap((row, i) => ["--read", `${row.throw}=${reads[i]}`])]);
  assert.equal(proof.status, 0);
  assert.equal(JSON.parse(proof.stdout).verdict, "as expected");

  // It is heard in its second throw, which is told in words.
  await goTo("Hear", "#play");
  await check("voice", "mode:3");
  await page.waitForFunction(() => location.search.includes("voice=mode%3A3") && document.querySelector('[data-plain="mode:3"]').textContent !== "");
  await press("#play");
  await told("#play", "Stop");
  await press("#play");
  await told("#play", "Play");

  // The page that is sent plays by itself.
  await goTo("Send", "#made");
  await press('[data-part="make-listen"] button');
  await page.waitForSelector('.made a[download$=".html"]', { timeout: 30000 });
  const [sent] = readdirSync(join(own, "sent"));
  const alone = await browser.newPage();
  alone.on("pageerror", (error) => faults.push(error.message));
  await alone.goto(pathToFileURL(join(own, "sent", sent)).href);
  await alone.waitForSelector("body.ready");
  await alone.close();
  assert.ok(existsSync(join(own, "readings/proof.toml")));
  console.log(`by ${name}: ${took} readings, ${((Date.now() - begun) / 1000).toFixed(0)} s`);
}

assert.deepEqual(faults, []);
await end();
