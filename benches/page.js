// How long the page that plays keeps a browser busy: until it can be used, until every arrangement is there, at a step of
// a knob, and at a switch. `node benches/page.js FOLDER/listen.html`, after `npm install` in tests/browser; medians of five.

import { createRequire } from "node:module";
import { resolve } from "node:path";
import { pathToFileURL } from "node:url";

const { chromium } = createRequire(new URL("../tests/browser/", import.meta.url))("playwright-core");
const address = `${pathToFileURL(resolve(process.argv[2])).href}#check`;
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: ["--no-sandbox", "--autoplay-policy=no-user-gesture-required"] });

const median = (values) => values.sort((a, b) => a - b)[values.length >> 1];

async function measured() {
  const context = await browser.newContext();
  const page = await context.newPage();
  await page.addInitScript(() => {
    globalThis.tasks = [];
    new PerformanceObserver((list) => globalThis.tasks.push(...list.getEntries().map(({ duration }) => duration)))
      .observe({ type: "longtask", buffered: true });
  });
  const start = performance.now();
  await page.goto(address);
  await page.waitForSelector("body.ready");
  const usable = performance.now() - start;
  const told = await page.evaluate(async () => {
    const wait = (ms) => new Promise((resume) => setTimeout(resume, ms));
    const longest = async (act) => {
      globalThis.tasks.length = 0;
      await act();
      await wait(100);
      return Math.max(0, ...globalThis.tasks);
    };
    const { mixer, settled } = globalThis.bench;
    const loading = Math.max(0, ...globalThis.tasks);
    const count = mixer.now.length;
    while (mixer.ready < count) await wait(5);
    const all = performance.now();
    await settled();
    // Tasks of less than 50 ms are not told.
    const knob = await longest(async () => {
      mixer.turn({ ...mixer.turned, volume: 7, tone: 6 });
      await settled();
    });
    const since = performance.now();
    mixer.turn({ ...mixer.turned, volume: 6 });
    mixer.choose(count - 1);
    while (mixer.now[count - 1].at !== mixer.turned) await wait(1);
    const heard = performance.now() - since;
    return { loading, all, knob, heard, count, ...await behind() };
    // Behind the amplifier, while it plays: from a knob to the first sample that is another.
    async function behind() {
      document.querySelector("#play").click();
      const from = performance.now();
      mixer.amplify(2);
      while (!mixer.player.reel) await wait(2);
      const first = performance.now() - from;
      await settled();
      const times = [];
      for (let i = 0; i < 10; i++) {
        const had = mixer.player.reel;
        const turned = mixer.card.currentTime;
        mixer.turn({ ...mixer.turned, volume: (i % 2 ? 9 : 4) - i / 40 });
        while (mixer.player.reel === had) await wait(2);
        times.push(1000 * (mixer.player.reel.begun - turned));
        await wait(400);
      }
      document.querySelector("#play").click();
      return { first, driven: times.sort((a, b) => a - b)[times.length >> 1] };
    }
  });
  await context.close();
  return { usable, ...told };
}

const runs = [];
for (let run = 0; run < 5; run++) runs.push(await measured());
const of = (name) => Math.round(median(runs.map((run) => run[name])));
console.log(`${runs[0].count} arrangements: usable after ${of("usable")} ms, all of them after ${of("all")} ms;`);
console.log(`longest task while loading ${of("loading")} ms, after a step of two knobs ${of("knob")} ms (0: below 50);`);
console.log(`the amplifier is heard ${of("first")} ms after it is chosen, a knob behind it after ${of("driven")} ms;`);
console.log(`an arrangement that is not heard follows a knob ${of("heard")} ms after it is chosen`);
await browser.close();
