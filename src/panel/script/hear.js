// @ts-check
// Plays a take through the guitar as it stands. The program sends the take and the kernels as floats and tells the gains; a worklet
// convolves. What the page has to say is asked for here and put into the elements that the program made.

import { asked, floats, search, sent } from "./asked.js";
import { added, the, tried, trouble } from "./elements.js";
import * as live from "./live.js";
import { Reels } from "./reels.js";
import { isRecording, record as begin, recorded } from "./recording.js";

/** So long the guitar rests before all voices are weighed again. */
const REST_MS = 300;

const base = document.body.dataset.base ?? "/";
/** @typedef {{ rate: number, channels: number, lead: number, frames: number, coils: number, ahead: number, from: number, lasts: number, whole: number, planes: Float32Array[] }} Sound */
/** @typedef {{ name: string, true_db: number | null, matched_db: number | null, rms_dbfs: number | null, rms_db: number | null, loudness_lu: number | null, centroid_hz: number | null, approximate: boolean | null, plain: string, at_jack?: Level | null }} Level */

/** @type {Sound | null} */
let sound = null;
/** What of the page the sound and the levels were asked for. */
let soundOf = "";
let levelsOf = "";
/** @type {Map<string, Level>} */
let levels = new Map();
/** How hard the amplifier is driven that the levels are of, "" at the jack; nothing before there are any. @type {string | null} */
let levelsBehind = null;
/** @type {string[]} */
let notes = [];
/** What is heard behind the amplifier. */
const reels = new Reels({
  ask: asked,
  /** Whether this is still what is wanted. */
  is: (wanted) => state() === wanted,
  send: (message) => node?.port.postMessage(message),
  place: () => (isPlaying ? place : region[0]),
  isPlaying: () => isPlaying,
});
/** The kernels that the worklet has, by voice, each for one state of the guitar. @type {Map<string, string>} */
const kernels = new Map();
/** @type {AudioContext | null} */
let card = null;
/** @type {AudioWorkletNode | null} */
let node = null;
/** @type {GainNode | null} */
let volume = null;
let isPlaying = false;
/** Where the sound stands, in frames. */
let place = 0;
/** The waveform. @type {Wave | null} */
let wave = null;
/** The frames that are looped, of the whole sound unless others are chosen. @type {[number, number]} */
let region = [0, 0];
let moving = 0;
let wishes = 0;
let resting = 0;
/** What is being weighed. @type {{ wanted: string, work: Promise<void> } | null} */
let weighing = null;

/** @type {(search: URLSearchParams, without: string[]) => string} */
const key = (search, without) => [...search].filter(([name, value]) => value && !without.includes(name)).map(([name, value]) => `${name}=${encodeURIComponent(value)}`).sort().join("&");
const number = () => document.body.dataset.number ?? "";
/** Returns what kernels and levels are made of: the number of the guitar's last change, and what is asked for. */
const state = () => `${number()} ${key(search(), ["voice", "beside"])}`;
const takeOf = () => key(search(), ["voice", "beside", "heard", "amp", ...(search().get("through") === "its-channels" ? [] : ["through"])]) + (search().get("take") ? "" : ` ${search().get("heard") ?? ""}`);

/** Returns how hard the amplifier is driven that it is heard through, "" where it is none. */
const behind = () => search().get("amp") ?? "";

/** The blind comparison, and the voice that is heard in it. @type {Blind | null} */
let blind = null;
/** @type {string | null} */
let hidden = null;

/** Returns the voice that is chosen. */
function voice() {
  if (hidden !== null) return hidden;
  const chosen = document.querySelector("[data-voice]:checked");
  return chosen instanceof HTMLInputElement ? chosen.value : "";
}

/** What is being brought to what the page shows. @type {Promise<void> | null} */
let following = null;
let isWanted = false;

/** Brings the sound, the kernel of the chosen voice and the levels to what the page shows, one after the other. */
function follow() {
  isWanted = true;
  following ??= steps().finally(() => { following = null; });
  return following;
}

async function steps() {
  try {
    while (isWanted) {
      isWanted = false;
      await step();
    }
    trouble("");
  } catch (error) {
    trouble(error instanceof Error ? error.message : String(error));
  }
}

async function step() {
  if (!document.getElementById("player")) return;
  if (soundOf !== takeOf()) {
    const wanted = takeOf();
    const { head, lists } = await floats(await asked("sound"));
    stop();
    sound = { ...head, planes: lists };
    soundOf = wanted;
    levelsOf = "";
    levelsBehind = null;
    kernels.clear();
    reels.clear();
    place = 0;
    region = [0, head.frames];
    await closed();
    drawn();
  }
  await voiced(voice());
  if (levelsOf !== state()) {
    clearTimeout(resting);
    resting = window.setTimeout(() => tried(weighed), levels.size === 0 ? 0 : REST_MS);
  }
}

/**
 * Gives the worklet the kernel of a voice as the guitar stands, and lets it be heard where it is the chosen one.
 *
 * @param {string} name
 */
async function voiced(name) {
  const wanted = state();
  if (!node || !sound) return;
  if (levelsBehind !== behind()) {
    // What was heard goes on until it is known how loud the other is.
    await weighed();
    if (state() !== wanted) return;
  }
  if (behind() !== "") {
    await reels.begin(name, wanted, sound);
    if (name === voice() && state() === wanted) {
      heard();
      const own = sound;
      tried(() => reels.complete(name, wanted, own));
    }
    return;
  }
  if (kernels.get(name) !== wanted) {
    const own = node;
    const { head, lists } = await floats(await asked("kernel", { voice: name }));
    // What was changed meanwhile is asked for by who changed it.
    if (node !== own || state() !== wanted) return;
    node.port.postMessage({ kernel: { id: name, feeds: lists, before: head.before } });
    kernels.set(name, wanted);
  }
  if (name === voice()) heard();
}

/** Asks for gains and figures of all voices, then for the kernels of those that are not heard. */
async function weighed() {
  const wanted = state();
  if (levelsOf === wanted) return;
  if (weighing?.wanted !== wanted) {
    const before = weighing?.work;
    // One after the other: behind the amplifier each takes its time.
    const work = Promise.resolve(before).catch(() => {}).then(() => (state() === wanted ? weigh(wanted) : undefined));
    weighing = { wanted, work };
  }
  await weighing.work;
}

/** @param {string} wanted */
async function weigh(wanted) {
  const own = behind();
  const told = await (await asked("levels")).json();
  levelsOf = wanted;
  levels = new Map(told.voices.map((/** @type {Level} */ level) => [level.name, level]));
  levelsBehind = own;
  notes = told.notes;
  tell();
  heard();
  if (state() !== wanted) {
    follow();
    return;
  }
  for (const other of document.querySelectorAll("[data-voice]")) {
    if (state() !== wanted || !node || behind() !== "") return;
    if (other instanceof HTMLInputElement && kernels.get(other.value) !== wanted) await voiced(other.value);
  }
}

/** Tells the worklet which kernel is heard, and by which gain. */
function heard() {
  const isBehind = behind() !== "";
  if (!node || levelsBehind !== behind() || !(isBehind ? reels.has(voice(), state()) : kernels.has(voice()))) return;
  const own = levels.get(voice());
  const isMatched = /** @type {HTMLInputElement | null} */ (document.querySelector('[name="level-of"]:checked'))?.value === "matched" || hidden !== null;
  const db = (isMatched ? own?.matched_db : own?.true_db) ?? 0;
  wishes += 1;
  node.port.postMessage({ hear: { id: isBehind ? reels.idOf(voice()) : voice(), gain: 10 ** (db / 20), number: wishes } });
}

/** @type {(value: number, digits: number) => string} */
const signed = (value, digits) => `${value < 0 ? "−" : "+"}${Math.abs(value).toFixed(digits)}`;

/** Puts what was measured beside the voices. */
function tell() {
  for (const span of document.querySelectorAll("[data-plain]")) {
    const own = levels.get(/** @type {HTMLElement} */ (span).dataset.plain ?? "");
    span.textContent = own?.at_jack?.plain ? `at the jack ${own.at_jack.plain}; at the loudspeaker ${own.plain}` : own?.plain ?? "";
  }
  for (const span of document.querySelectorAll("[data-figures]")) {
    const own = levels.get(/** @type {HTMLElement} */ (span).dataset.figures ?? "");
    const mark = own?.approximate ? "≈ " : "";
    const parts = !own ? [] : [
      own.loudness_lu !== null ? `loudness ${mark}${signed(own.loudness_lu, 1)} LU` : "",
      own.rms_db !== null ? `RMS ${mark}${signed(own.rms_db, 1)} dB` : "",
      own.centroid_hz !== null ? `spectral centroid ${mark}${Math.round(own.centroid_hz)} Hz` : "",
    ];
    const told = parts.filter((part) => part).join(" · ");
    const atJack = own?.at_jack?.loudness_lu ?? null;
    span.textContent = atJack === null ? told : `at the jack loudness ${mark}${signed(atJack, 1)} LU; at the loudspeaker ${told}`;
  }
  const isStale = levelsOf !== state();
  const form = document.getElementById("hear");
  form?.classList.toggle("stale", isStale);
  form?.setAttribute("aria-busy", String(isStale));
  const list = document.getElementById("notes");
  const words = isStale ? "Being measured anew." : notes.join("; ");
  if (list && list.textContent !== words) list.textContent = words;
}

async function opened() {
  if (node || !sound) return;
  card = new AudioContext({ sampleRate: sound.rate, latencyHint: "interactive" });
  await card.audioWorklet.addModule(`${base}convolver.js`);
  node = convolver(card, sound);
  volume = new GainNode(card, { gain: loudness() });
  node.connect(volume).connect(card.destination);
  node.port.onmessage = ({ data }) => reported(data);
  looped();
}

/** Tells the worklet what is looped. */
function looped() {
  node?.port.postMessage({ loops: the("loops", HTMLInputElement).checked, region });
}

/** Loops the frames between the flags, and goes on where it stands, or at their start where it stands elsewhere. */
function bounded() {
  clearTimeout(moving);
  // While a flag is dragged the sound goes on as it was.
  moving = window.setTimeout(() => {
    the("loops", HTMLInputElement).checked = true;
    looped();
    if (place < region[0] || place >= region[1]) seek(region[0]);
  }, 150);
}

/**
 * Returns a worklet with a sound in it.
 *
 * @param {BaseAudioContext} context
 * @param {Sound} own
 */
function convolver(context, own) {
  const made = new AudioWorkletNode(context, "convolver", { numberOfInputs: 0, outputChannelCount: [own.coils > 0 ? 1 : own.channels] });
  const { planes, lead, frames, coils, ahead } = own;
  made.port.postMessage({ sound: { planes, lead, frames, coils, ahead } });
  return made;
}

async function closed() {
  const had = card;
  [card, node, volume] = [null, null, null];
  kernels.clear();
  reels.clear();
  await had?.close();
}

/** What the worklet tells. @param {{ place?: number | null, peak?: number, rms?: number, began?: number, at?: number }} data */
function reported(data) {
  if (data.began !== undefined) document.dispatchEvent(new CustomEvent("heard", { detail: data }));
  if (data.place === undefined) return;
  if (data.place === null) {
    if (isPlaying) place = 0;
    isPlaying = false;
    shown();
  } else if (isPlaying) {
    place = data.place;
  }
  const meter = document.getElementById("meter");
  const level = loudness() * (data.rms ?? 0);
  if (meter instanceof HTMLMeterElement) meter.value = isPlaying && level > 0 ? 20 * Math.log10(level) : -60;
  pointed();
}

/** Returns the listening level as a gain. */
function loudness() {
  const level = document.getElementById("level");
  return level instanceof HTMLInputElement ? 10 ** (Number(level.value) / 20) : 1;
}

async function play(from = place) {
  await follow();
  await opened();
  if (!node || !card || !sound) return;
  await voiced(voice());
  if (card.state === "suspended") await card.resume();
  isPlaying = true;
  place = from >= sound.frames ? 0 : from;
  if (behind() !== "") await reels.begin(voice(), state(), sound, place);
  if (!node) return;
  node.port.postMessage({ play: place });
  heard();
  shown();
  levelsOf = levels.size === 0 ? "" : levelsOf;
  tried(weighed);
}

function stop() {
  node?.port.postMessage({ stop: true });
  isPlaying = false;
  shown();
}

function toggle() {
  if (isPlaying) stop();
  else tried(play);
}

/** @type {(seconds: number) => string} */
const clock = (seconds) => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;

function shown() {
  const button = document.getElementById("play");
  if (!button) return;
  button.textContent = isPlaying ? "Stop" : "Play";
  button.setAttribute("aria-pressed", String(isPlaying));
  pointed();
}

/** Shows where the sound stands. */
function pointed() {
  const told = document.getElementById("place");
  if (!sound || !told) return;
  const [at, whole] = [place / sound.rate, sound.frames / sound.rate];
  const part = sound.lasts < sound.whole ? `, ${clock(sound.from)} to ${clock(sound.from + sound.lasts)} of ${clock(sound.whole)}` : "";
  const words = `${clock(at)} of ${clock(whole)}${part}`;
  if (told.textContent !== words) told.textContent = words;
  wave?.moveTo(Math.min(place, sound.frames));
}

/** Shows the sound in the waveform, which is made anew with the page. */
function drawn() {
  const root = document.getElementById("wave");
  if (!sound || !root) return;
  if (wave?.root !== root) {
    wave = new Wave(root, {
      seek,
      region: (start, end) => {
        region = [start, end];
        bounded();
      },
    });
  }
  const { planes, lead, frames, rate } = sound;
  if (wave.sound?.planes !== planes) wave.show({ planes, lead, length: frames, rate });
  wave.setRegion(...region);
  pointed();
}

/** @param {number} frame */
function seek(frame) {
  if (!sound) return;
  if (frame < region[0] || frame >= region[1]) {
    region = [0, sound.frames];
    wave?.setRegion(...region);
    looped();
  }
  place = Math.max(0, Math.min(sound.frames - 1, Math.round(frame)));
  if (isPlaying) tried(() => play(place));
  else pointed();
}

/**
 * Sends a take to the guitar's folder and chooses it.
 *
 * @param {Blob} take
 * @param {string} name
 */
async function send(take, name) {
  trouble("", TAKE_TROUBLE);
  chosen(`own/${await sent(take, name)}`);
}

/**
 * Loads the page with this take, at the part of it called `part`.
 *
 * @param {string} take
 * @param {string} part
 */
function chosen(take, part = "") {
  const wanted = search();
  wanted.set("take", take);
  wanted.delete("from");
  const address = `${location.pathname}?${wanted}${part && `#${part}`}`;
  if (address === location.pathname + location.search + location.hash) location.reload();
  else location.assign(address);
}

/** Where it is said what did not work of takes, and of listening to the input. */
const [TAKE_TROUBLE, LIVE_TROUBLE] = ["take-trouble", "live-trouble"];
/** What leads to the part in which a take is renamed, once it is. */
const RENAMED = "take-part";

/** Tells what a take is called that was just renamed, in the part in which that was asked for. */
function tellRenamed() {
  const part = document.getElementById(RENAMED);
  if (location.hash !== `#${RENAMED}` || !(part instanceof HTMLDetailsElement)) return;
  part.open = true;
  the("take-told", HTMLElement).textContent = `It is called ${(search().get("take") ?? "").replace(/^own\//, "")} now.`;
  the("take-name", HTMLInputElement).focus();
}

/** Renames the take that is chosen, and chooses it by its new name. */
async function renamed() {
  const called = the("take-name", HTMLInputElement).value;
  chosen(`own/${await changed("rename-take", { called })}`, RENAMED);
}

/** Puts the take that is chosen into the bin, and chooses none. */
async function removed() {
  await changed("remove-take", {});
  chosen("");
}

/**
 * Has the program change the take that is chosen, and returns its answer.
 *
 * @param {string} what
 * @param {Record<string, string>} how
 */
async function changed(what, how) {
  trouble("", TAKE_TROUBLE);
  const name = (search().get("take") ?? "").replace(/^own\//, "");
  const answer = await fetch(`${location.pathname}${what}?${new URLSearchParams({ name, ...how })}`, { method: "POST" });
  const words = await answer.text();
  if (!answer.ok) throw new Error(words || "the take could not be changed");
  return words;
}

async function record() {
  const button = the("record", HTMLButtonElement);
  if (isRecording()) {
    button.textContent = "Record one";
    await send(await recorded(), "recording.wav");
    return;
  }
  const { isRaw } = await begin(base);
  button.textContent = "Stop recording";
  trouble(isRaw ? "" : "The browser changes what comes in, and could not be kept from it: levels and treble of this recording are not the guitar's.", TAKE_TROUBLE);
}

/** Makes the blind comparison of the voices that there are. */
function compared() {
  const place = the("blind-place", HTMLDetailsElement);
  if (blind?.running) return;
  const voices = [...document.querySelectorAll("[data-voice]")].map((own) => ({
    name: /** @type {HTMLInputElement} */ (own).value,
    title: own.parentElement?.querySelector(".title")?.firstChild?.textContent ?? "",
  }));
  const root = the("blind", HTMLElement);
  for (const select of root.querySelectorAll("select")) select.replaceChildren();
  const fresh = /** @type {HTMLElement} */ (root.cloneNode(true));
  root.replaceWith(fresh);
  blind = new Blind(fresh, { voices, baseline: 0, blind: JSON.parse(place.dataset.runs ?? "[]") }, {
    async begin(indices) {
      if (!isPlaying) await play();
      await weighed();
      for (const index of indices) {
        await voiced(voices[index].name);
        if (behind() !== "" && sound) await reels.complete(voices[index].name, state(), sound);
      }
      hidden = voices[indices[0]].name;
      lock(true);
    },
    hear(index) {
      hidden = voices[index].name;
      heard();
    },
    end() {
      hidden = null;
      lock(false);
      heard();
    },
  });
}

/** Lets nothing be changed, and nothing tell what is heard, while a comparison runs. @param {boolean} isLocked */
function lock(isLocked) {
  document.body.classList.toggle("blind", isLocked);
  for (const part of document.querySelectorAll(".sheet, #hear, .levels")) if (part instanceof HTMLElement) part.inert = isLocked;
}

/** Begins to listen to the input, or ends it. */
async function listen() {
  trouble("", LIVE_TROUBLE);
  const button = the("live", HTMLButtonElement);
  if (live.isLive()) await live.end();
  else await live.begin(base, voice(), number());
  button.textContent = live.isLive() ? "Stop listening" : "Listen to the input";
  button.setAttribute("aria-pressed", String(live.isLive()));
  the("live-told", HTMLElement).textContent = live.isLive() ? live.lateness() : "It is silent while this page is hidden.";
}

/** What is played, as far as the guitar and what is chosen of it tell it. */
const played = () => `${number()} ${location.search}`;
/** What was played as it was last written. */
let writtenOf = "";

async function write() {
  trouble("", "write-trouble");
  const told = the("written", HTMLElement);
  told.textContent = "being written";
  const own = played();
  const answer = await fetch(`${location.pathname}write${location.search}`, { method: "POST" });
  const words = await answer.text();
  writtenOf = own;
  told.textContent = answer.ok ? `Written: ${words}` : told.dataset.first ?? "";
  if (!answer.ok) throw new Error(words);
}

document.addEventListener("click", ({ target }) => {
  const button = target instanceof Element ? target.closest("button") : null;
  if (button?.id === "play") toggle();
  if (button?.id === "record") tried(record, TAKE_TROUBLE);
  if (button?.id === "write") tried(write, "write-trouble");
  if (button?.id === "live") tried(listen, LIVE_TROUBLE);
  if (button?.id === "rename-take") tried(renamed, TAKE_TROUBLE);
  if (button?.id === "remove-take") tried(removed, TAKE_TROUBLE);
});
/** How the player is set, by element: a page that is made anew knows nothing of it. @type {Map<string, string>} */
const set = new Map();
document.addEventListener("change", ({ target }) => {
  if (target instanceof HTMLSelectElement && target.id === "wired") tried(() => live.follow(voice(), number()), LIVE_TROUBLE);
  if (!(target instanceof HTMLInputElement)) return;
  for (const own of document.querySelectorAll("#player input")) {
    if (own instanceof HTMLInputElement) set.set(own.id, own.type === "range" ? own.value : String(own.checked));
  }
  if (target.dataset.voice !== undefined) {
    tried(() => voiced(voice()));
    tried(() => live.follow(voice(), number()), LIVE_TROUBLE);
  }
  if (target.name === "level-of") heard();
  if (target.id === "loops") looped();
});
document.addEventListener("toggle", ({ target }) => {
  if (target instanceof HTMLDetailsElement && target.id === "blind-place" && target.open) compared();
}, true);
document.addEventListener("visibilitychange", live.audible);
document.addEventListener("input", ({ target }) => {
  if (!(target instanceof HTMLInputElement) || !["level", "live-level"].includes(target.id)) return;
  the(`${target.id}-told`, HTMLOutputElement).textContent = `${target.value.replace("-", "−")} dB`;
  if (target.id === "live-level") live.audible();
  if (volume && card) volume.gain.setTargetAtTime(loudness(), card.currentTime, 0.005);
});
document.addEventListener("keydown", (event) => {
  const { target, key: pressed } = event;
  if (event.ctrlKey || event.metaKey || event.altKey || !(target instanceof Element)) return;
  if (blind?.running) {
    const act = ["a", "b", "x"].includes(pressed) ? () => blind?.hear(pressed) : ["1", "2"].includes(pressed) ? () => blind?.answer(pressed === "1" ? "a" : "b") : null;
    if (act) {
      act();
      return;
    }
    if (pressed !== " ") return;
  }
  if (target.closest("input:not([type=radio]):not([type=checkbox]), textarea, select, button, summary, a")) return;
  const voices = [...document.querySelectorAll("[data-voice]")];
  const chosen = voices[Number(pressed) - 1];
  if (pressed === " " && !target.closest("input")) {
    event.preventDefault();
    toggle();
  } else if (chosen instanceof HTMLInputElement && /^[1-9]$/.test(pressed)) {
    chosen.click();
  } else if (pressed.toLowerCase() === "m") {
    const other = document.querySelector('[name="level-of"]:not(:checked)');
    if (other instanceof HTMLInputElement) other.click();
  }
});
document.addEventListener("swapped", () => {
  for (const [id, value] of set) {
    const own = document.getElementById(id);
    if (own instanceof HTMLInputElement && own.type === "range") own.value = value;
    else if (own instanceof HTMLInputElement) own.checked = value === "true";
  }
  const place = document.getElementById("blind-place");
  if (place instanceof HTMLDetailsElement && place.open) compared();
  // What was written is not what is played once that has changed.
  const written = document.getElementById("written");
  if (written && writtenOf !== "" && writtenOf !== played()) {
    writtenOf = "";
    written.textContent = written.dataset.first ?? "";
  }
  tell();
  shown();
  drawn();
  follow();
  tried(() => live.follow(voice(), number()), LIVE_TROUBLE);
});

tellRenamed();
follow();
added(["file"], (file) => send(file, file.name), TAKE_TROUBLE);
