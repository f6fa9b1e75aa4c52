// @ts-check
// Records a block of strums, counts them as they are played, and sends the recording. What the takes tell is worked out by the
// program.

import { sent } from "./asked.js";
import { added, the, tried, trouble } from "./elements.js";
import { InputLevel } from "./level.js";
import { abandoned, record, recorded } from "./recording.js";
import { Strums } from "./strums.js";

const base = document.body.dataset.base ?? "/";
/** How often what is shown is brought to what is heard. */
const SHOW_MS = 100;
/** From here on the input is about to be cut off. */
const MOST = 0.97;

/** What is recorded: the strums that were heard in it, and of which voice it is. @type {{ strums: Strums, voice: string, shows: number } | null} */
let run = null;
let isBeginning = false;
const level = new InputLevel();
/** The largest sample of the recording. */
let peak = 0;

/** @param {Float32Array[][]} blocks */
function heard(blocks) {
  for (const block of blocks) {
    // A guitar is on one of two inputs, or the same is on both.
    const power = (/** @type {Float32Array} */ plane) => plane.reduce((sum, sample) => sum + sample * sample, 0);
    const plane = block.length > 1 && power(block[1]) > power(block[0]) ? block[1] : block[0];
    level.hear(plane);
    run?.strums.push(plane);
  }
}

/** Shows what is heard. */
function show() {
  const button = the("run", HTMLButtonElement);
  button.textContent = run ? "Stop" : "Record";
  button.setAttribute("aria-pressed", String(run !== null));
  the("voice", HTMLSelectElement).disabled = run !== null;
  peak = Math.max(peak, level.show(run !== null));
  if (!run) return;
  const { count } = run.strums;
  the("counted", HTMLOutputElement).textContent = String(count);
  const wanted = Number(the("record", HTMLElement).dataset.block);
  const told = the("stage", HTMLElement);
  told.hidden = false;
  const words = peak >= MOST ? "The input reaches its end: stop, turn it down, and record this block again."
    : count < wanted ? `Recording ${run.voice}: play the chord ${wanted} times.` : "That is enough of this throw: damp the strings and press Stop.";
  if (told.textContent !== words) told.textContent = words;
}

/** Begins to record, or ends it and sends what was recorded. */
async function pressed() {
  if (isBeginning) return;
  isBeginning = true;
  try {
    if (run) await finished();
    else await begin();
  } finally {
    isBeginning = false;
  }
}

async function begin() {
  trouble("");
  const voice = the("voice", HTMLSelectElement).value;
  if (!voice) throw new Error("choose in which throw this is recorded");
  const { context, isRaw } = await record(base, { isMeasured: true, heard });
  if (!isRaw) {
    await abandoned();
    throw new Error("The browser changes what comes in, and could not be kept from it, so that levels and treble are not the guitar's: take another browser, or add recordings of another program.");
  }
  [level.largest, peak] = [0, 0];
  run = { strums: new Strums(context.sampleRate), voice, shows: window.setInterval(show, SHOW_MS) };
  await context.resume();
  show();
}

async function finished() {
  const had = run;
  if (!had) return;
  clearInterval(had.shows);
  run = null;
  show();
  const told = the("stage", HTMLElement);
  told.hidden = false;
  if (had.strums.count === 0) {
    await abandoned();
    told.textContent = "No strum was heard; nothing was kept.";
    return;
  }
  told.textContent = "The recording is on its way.";
  await kept(await recorded(), `${had.voice}.wav`, had.voice);
}

/**
 * Sends a recording of a voice, and says how many strums the program heard in it.
 *
 * @param {Blob} take
 * @param {string} name
 * @param {string} voice
 */
async function kept(take, name, voice) {
  trouble("");
  const strums = await sent(take, name, { voice });
  const told = the("stage", HTMLElement);
  told.hidden = false;
  told.textContent = `Kept: ${strums} ${strums === "1" ? "strum" : "strums"} of ${voice}.`;
}

document.addEventListener("click", ({ target }) => {
  const button = target instanceof Element ? target.closest("button") : null;
  if (button?.id === "run") tried(pressed);
});
added(["file"], (file) => kept(file, file.name, the("voice", HTMLSelectElement).value));
document.addEventListener("swapped", () => {
  if (run) show();
});
addEventListener("pagehide", () => { abandoned().catch(() => {}); });
