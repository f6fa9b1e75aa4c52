// @ts-check
// The guitar itself, heard through the sound card's input as it would be rewired.

import { asked, floats } from "./asked.js";
import { input } from "./recording.js";

/** How long it takes to fall silent and back, in seconds. */
const SOFT = 0.01;

/** @type {(Awaited<ReturnType<typeof input>> & { node: AudioWorkletNode, level: GainNode, voice: string, state: string, lead: number }) | null} */
let live = null;
let kernels = 0;

/** Returns whether the input is heard. */
export const isLive = () => live !== null;

/** Returns the level at which it is heard, as a gain. */
function level() {
  const slider = document.getElementById("live-level");
  return slider instanceof HTMLInputElement ? 10 ** (Number(slider.value) / 20) : 0.1;
}

/** Hears the input at the level that is set, or not at all while the page is hidden. */
export function audible() {
  if (!live) return;
  live.level.gain.setTargetAtTime(document.hidden ? 0 : level(), live.context.currentTime, SOFT / 3);
}

/**
 * Begins to listen.
 *
 * @param {string} base
 * @param {string} voice
 * @param {string} state
 */
export async function begin(base, voice, state) {
  const own = await input(base);
  const node = new AudioWorkletNode(own.context, "live", { outputChannelCount: [1] });
  const gain = new GainNode(own.context, { gain: 0 });
  live = { ...own, node, level: gain, voice: "", state: "", lead: 0 };
  await follow(voice, state);
  own.source.connect(node).connect(gain).connect(own.context.destination);
  await own.context.resume();
  audible();
}

/**
 * Lets the input be heard as `voice` while the guitar is in `state`.
 *
 * @param {string} voice
 * @param {string} state
 */
export async function follow(voice, state) {
  const wired = document.getElementById("wired");
  if (!live || !(wired instanceof HTMLSelectElement)) return;
  const wanted = `${state} ${wired.value}`;
  if (live.voice === voice && live.state === wanted) return;
  const { node, context } = live;
  const { head, lists } = await floats(await asked("live", { voice, wired: wired.value, rate: String(context.sampleRate) }));
  if (live?.node !== node) return;
  kernels += 1;
  node.port.postMessage({ kernel: { id: "live", feeds: lists, before: head.before }, hear: { id: "live", gain: 1, number: kernels } });
  Object.assign(live, { voice, state: wanted, lead: head.before / context.sampleRate });
}

/** Returns how late the guitar is heard, as far as the browser tells. */
export function lateness() {
  if (!live) return "";
  const { context, latency, lead, isRaw } = live;
  const ms = (/** @type {number} */ seconds) => `${(1000 * seconds).toFixed(1)} ms`;
  const parts = [`${ms(lead)} of its own`, `${ms(context.baseLatency + context.outputLatency)} that the browser tells of its output`];
  parts.push(latency === undefined ? "what the input takes, which it does not tell" : `${ms(latency)} of its input`);
  const changed = isRaw ? "" : " The browser changes what comes in, and could not be kept from it: this is not quite your guitar.";
  return `Heard late by ${parts.join(", ")}.${changed}`;
}

/** Ends listening. */
export async function end() {
  const had = live;
  live = null;
  had?.stream.getTracks().forEach((track) => track.stop());
  await had?.context.close();
}
