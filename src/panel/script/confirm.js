// @ts-check
// Records a block of strums, or single notes that ring while the switch is thrown, counts them as they are played, and sends the
// recording. Notes and throws are counted by the program from what has come in; what the takes tell is worked out by it, too.

import { sent } from "./asked.js";
import { added, the, tried, trouble } from "./elements.js";
import { Incoming } from "./incoming.js";
import { InputLevel } from "./level.js";
import { abandoned, record, recorded } from "./recording.js";
import { Strums } from "./strums.js";

const base = document.body.dataset.base ?? "/";
/** How often what is shown is brought to what is heard. */
const SHOW_MS = 100;
/** How often notes are counted. */
const COUNT_MS = 1000;
/** From here on the input is about to be cut off. */
const MOST = 0.97;

/** Between which voices a switch is thrown while a note rings, the first note beginning in the first. @typedef {{ first: string, later: string }} Between */

/**
 * What is recorded: the strums that were heard in it, and of which voice it is; or the notes that come in, and between which voices the
 * switch is thrown.
 *
 * @type {{ shows: number, strums: Strums, voice: string } | { shows: number, incoming: Incoming, between: Between } | null}
 */
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
    if (run && "strums" in run) run.strums.push(plane);
  }
  if (run && "incoming" in run) run.incoming.hear(blocks);
}

/** Returns between which voices the switch is thrown, where that is how the page has it recorded. @returns {Between | null} */
function thrown() {
  const { first, later } = document.getElementById("between")?.dataset ?? {};
  return first === undefined || later === undefined ? null : { first, later };
}

/** Shows what is heard. */
function show() {
  const button = the("run", HTMLButtonElement);
  button.textContent = run ? "Stop" : "Record";
  button.setAttribute("aria-pressed", String(run !== null));
  const voice = document.getElementById("voice");
  if (voice instanceof HTMLSelectElement) voice.disabled = run !== null;
  peak = Math.max(peak, level.show(run !== null));
  if (!run) return;
  if ("incoming" in run) {
    the("stage", HTMLElement).hidden = false;
    const { incoming } = run;
    // The recording goes on where notes cannot be counted.
    tried(() => incoming.send(COUNT_MS));
    return;
  }
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
  const between = thrown();
  const voice = between ? "" : the("voice", HTMLSelectElement).value;
  if (between && (between.first === between.later || !between.later)) throw new Error("choose two throws that differ: the switch is thrown between them");
  if (!between && !voice) throw new Error("choose in which throw this is recorded");
  const { context, isRaw } = await record(base, { isMeasured: true, heard });
  if (!isRaw) {
    await abandoned();
    throw new Error("The browser changes what comes in, and could not be kept from it, so that levels and treble are not the guitar's: take another browser, or add recordings of another program.");
  }
  [level.largest, peak] = [0, 0];
  const shows = window.setInterval(show, SHOW_MS);
  const { sampleRate } = context;
  run = between ? { shows, incoming: new Incoming(sampleRate), between } : { shows, strums: new Strums(sampleRate), voice };
  if (between) for (const id of ["counted", "thrown"]) the(id, HTMLOutputElement).textContent = "0";
  if (between) the("stage", HTMLElement).textContent = `Recording: the switch stands in ${between.first}; play the first note, and throw it every half second.`;
  await context.resume();
  show();
}

async function finished() {
  const had = run;
  if (!had) return;
  clearInterval(had.shows);
  if ("incoming" in had) had.incoming.end();
  run = null;
  show();
  const told = the("stage", HTMLElement);
  told.hidden = false;
  if ("strums" in had && had.strums.count === 0) {
    await abandoned();
    told.textContent = "No strum was heard; nothing was kept.";
    return;
  }
  told.textContent = "The recording is on its way.";
  if ("strums" in had) await kept(await recorded(), `${had.voice}.wav`, had.voice);
  else await kept(await recorded(), "notes.wav", had.between);
}

/**
 * Sends a recording of a voice, or of notes between two of them, and says how much the program heard in it.
 *
 * @param {Blob} take
 * @param {string} name
 * @param {string | Between} of
 */
async function kept(take, name, of) {
  trouble("");
  const heard = await sent(take, name, typeof of === "string" ? { voice: of } : of);
  const told = the("stage", HTMLElement);
  told.hidden = false;
  told.textContent = typeof of === "string" ? `Kept: ${heard} ${heard === "1" ? "strum" : "strums"} of ${of}.`
    : `Kept: ${heard} between ${of.first} and ${of.later}.`;
}

document.addEventListener("click", ({ target }) => {
  const button = target instanceof Element ? target.closest("button") : null;
  if (button?.id === "run") tried(pressed);
});
added(["file"], (file) => kept(file, file.name, thrown() ?? the("voice", HTMLSelectElement).value));
document.addEventListener("swapped", () => {
  if (run) show();
});
addEventListener("pagehide", () => { abandoned().catch(() => {}); });
