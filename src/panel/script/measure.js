// @ts-check
// Plays the sweeps and records the input meanwhile, says what is to be connected when, and sends the recording. What it tells is
// worked out by the program, and so is what is seen of it while it comes in.

import { asked, floats, sent } from "./asked.js";
import { added, the, tried, trouble } from "./elements.js";
import { Incoming } from "./incoming.js";
import { InputLevel, decibels } from "./level.js";
import { abandoned, record, recorded } from "./recording.js";

const base = document.body.dataset.base ?? "/";
/** Silence before the signal and after it, in seconds. */
const [AHEAD, TAIL] = [0.4, 0.8];
/** The input's peak is to lie between these, against full scale: below, noise tells; above, it may be cut off. */
const [LEAST, MOST] = [0.02, 0.97];
/** How often what is shown is brought to what is heard. */
const SHOW_MS = 100;
/** How often what has come in is drawn, and how often where a person wants little to move. */
const [DRAW_MS, DRAW_STILL_MS] = [500, 2000];

/** @typedef {{ lasts: number, sections: { from: number, to: number, words: string }[] }} Signal */

/** What is being played, since when, and how loud it came in at most. @type {{ context: AudioContext, signal: Signal, isCheck: boolean, begins: number, ends: number, peak: number, shows: number, incoming: Incoming } | null} */
let run = null;
const level = new InputLevel();
/** What is on its way to be played. */
let isBeginning = false;
/** The take that was kept and whose values are not there yet: until then one sees what came in. */
let awaited = "";

/** @param {Float32Array[][]} blocks */
function heard(blocks) {
  run?.incoming.hear(blocks);
  for (const block of blocks) {
    for (const plane of block) level.hear(plane);
  }
}

/**
 * Plays the signal, or of it the first sweep alone to look at the level.
 *
 * @param {boolean} isCheck
 */
async function begin(isCheck) {
  trouble("");
  tell();
  const { context, isRaw } = await record(base, { isMeasured: true, heard });
  try {
    if (!isRaw) throw new Error("The browser changes what comes in, and could not be kept from it, so that nothing can be told from it: take another browser, or record the sweeps by another program and add the recording here.");
    const { head, lists: [samples] } = await floats(await asked("signal", { rate: String(context.sampleRate) }));
    const lasts = isCheck ? head.sections[0].to : head.lasts;
    const buffer = new AudioBuffer({ length: Math.round(lasts * context.sampleRate), sampleRate: context.sampleRate });
    buffer.copyToChannel(samples.subarray(0, buffer.length), 0);
    const source = new AudioBufferSourceNode(context, { buffer });
    source.connect(context.destination);
    await context.resume();
    const begins = context.currentTime + AHEAD;
    source.start(begins);
    const incoming = new Incoming(context.sampleRate, { lasts: String(AHEAD + lasts + TAIL) });
    run = { context, signal: head, isCheck, begins, ends: begins + lasts + TAIL, peak: 0, shows: window.setInterval(show, SHOW_MS), incoming };
    awaited = "";
  } catch (error) {
    await abandoned();
    throw error;
  }
  show();
}

/** Ends what is played; returns it. */
function ended() {
  const had = run;
  run = null;
  clearInterval(had?.shows);
  show();
  return had;
}

/** What is to be said at this time of the signal, what comes next and in how many seconds; the section that counts. */
function stage(/** @type {Signal} */ { sections, lasts }, /** @type {number} */ time) {
  const at = sections.findIndex(({ to }) => time < to);
  if (at < 0) return { at, words: "That was all. Leave everything as it is for a moment.", left: lasts + TAIL - time };
  const { from, to, words } = sections[at];
  const number = `${at + 1} of ${sections.length}`;
  if (time < from) return { at, words: `Connect now, for sweep ${number}: ${words}.`, left: from - time };
  return { at, words: `Sweep ${number} is played, with ${words}. Touch nothing.`, left: to - time };
}

/** Shows how far the signal is, and the level of what comes in. */
function show() {
  const [check, button] = [the("check", HTMLButtonElement), the("run", HTMLButtonElement)];
  check.textContent = run?.isCheck ? "Stop" : "Check the level";
  button.textContent = run && !run.isCheck ? "Stop, and keep nothing" : "Play and record";
  check.disabled = run !== null && !run.isCheck;
  button.disabled = run?.isCheck ?? false;
  const [told, left, progress] = [the("stage", HTMLElement), the("countdown", HTMLElement), the("progress", HTMLProgressElement)];
  for (const own of [told, left, progress]) own.hidden = run === null || run.isCheck;
  const largest = level.show(run !== null);
  const time = run ? run.context.currentTime - run.begins : 0;
  const now = run && !run.isCheck ? stage(run.signal, time) : null;
  for (const [i, item] of document.querySelectorAll(".connections li").entries()) {
    if (now?.at === i) item.setAttribute("aria-current", "step");
    else item.removeAttribute("aria-current");
  }
  if (!run) return;
  run.peak = Math.max(run.peak, largest);
  if (now) {
    // Said once, and not each time that it is shown.
    if (told.textContent !== now.words) told.textContent = now.words;
    left.textContent = `${Math.max(0, Math.ceil(now.left))} s`;
    progress.value = Math.min(1, Math.max(0, time) / run.signal.lasts);
  }
  the("incoming", HTMLElement).hidden = false;
  const isStill = matchMedia("(prefers-reduced-motion: reduce)").matches;
  const { incoming } = run;
  // The recording goes on whatever becomes of its picture.
  tried(() => incoming.send(isStill ? DRAW_STILL_MS : DRAW_MS));
  if (run.context.currentTime >= run.ends) tried(finished);
}

/** Lets the program's own picture take the place of what came in, once that is there. */
function settled() {
  const take = document.querySelector('select[data-place="take"]');
  if (awaited === "" || !(take instanceof HTMLSelectElement) || take.value !== awaited || document.querySelector(".verdict.works")) return;
  awaited = "";
  the("incoming", HTMLElement).hidden = true;
}

/** Ends the recording by itself. */
async function finished() {
  const had = ended();
  if (!had) return;
  const { isCheck, peak } = had;
  if (isCheck) {
    await abandoned();
    tell(judged(peak));
    return;
  }
  tell("The recording is on its way.");
  const take = await sent(await recorded(), `${the("record", HTMLElement).dataset.called ?? "guitar"}.wav`);
  awaited = take;
  tell("The recording is kept, and what it tells stands under “What was found”.", { take });
  document.getElementById("came-to")?.scrollIntoView({ block: "nearest" });
}

/** What is said beside the buttons: of the recording called `take`, or of an attempt that left nothing. */
let told = { take: "", isPassing: false };

/**
 * Says something beside the buttons, or what is said there at first.
 *
 * @param {string} [words]
 * @param {{ take?: string, isPassing?: boolean }} [of]
 */
function tell(words, { take = "", isPassing = false } = {}) {
  told = { take, isPassing };
  const place = document.getElementById("level-words");
  if (place) place.textContent = words ?? place.dataset.first ?? "";
}

/**
 * Returns what a level says.
 *
 * @param {number} peak
 */
function judged(peak) {
  if (peak >= MOST) return `The input reaches its end (${decibels(peak)}): turn it down, and check again.`;
  if (peak < LEAST) return `Too little comes in (${decibels(peak)}): turn the output or the input up, look which input is recorded, and check again.`;
  return `The level is right: ${decibels(peak)} at most. Leave both knobs where they are, and press Play and record.`;
}

/**
 * Begins, or stops what was begun and keeps nothing.
 *
 * @param {boolean} isCheck
 */
async function pressed(isCheck) {
  if (isBeginning) return;
  if (run) {
    ended();
    await abandoned();
    the("incoming", HTMLElement).hidden = true;
    tell("Stopped; nothing was kept.", { isPassing: true });
    return;
  }
  isBeginning = true;
  try {
    await begin(isCheck);
  } finally {
    isBeginning = false;
  }
}

document.addEventListener("click", ({ target }) => {
  const button = target instanceof Element ? target.closest("button") : null;
  if (button?.id === "check") tried(() => pressed(true));
  if (button?.id === "run") tried(() => pressed(false));
});
added(["file", "table"], async (file) => { await sent(file, file.name); }, "file-trouble");
document.addEventListener("swapped", () => {
  if (run && document.getElementById("run")) show();
  settled();
  const take = document.querySelector('select[data-place="take"]');
  // What was said of a recording goes with it.
  if (told.take !== "" && take instanceof HTMLSelectElement && take.value !== told.take) tell();
});
// What was said of an attempt that left nothing goes with the next thing that is done.
for (const done of ["input", "change", "submit"]) {
  document.addEventListener(done, () => {
    trouble("", "file-trouble");
    if (told.isPassing) tell();
  }, { capture: true });
}
addEventListener("pagehide", () => { abandoned().catch(() => {}); });
