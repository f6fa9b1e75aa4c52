// @ts-check
// A take recorded from the sound card's input.

/** A recording that goes on. @type {{ context: AudioContext, stream: MediaStream, blocks: Float32Array[][] } | null} */
let recording = null;

/** Returns whether something is being recorded. */
export const isRecording = () => recording !== null;

/**
 * Opens the sound card's input, with nothing between the guitar and the page as far as the browser lets that be, in a context at
 * the device's own rate. For measuring, what is late does not matter, and what is lost does.
 *
 * @param {string} base
 * @param {boolean} isMeasured
 */
export async function input(base, isMeasured = false) {
  if (!navigator.mediaDevices?.getUserMedia) throw new Error("this browser gives no page the sound card's input");
  const raw = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
  let stream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ audio: raw });
  } catch (error) {
    const isMissing = error instanceof DOMException && error.name === "NotFoundError";
    throw new Error(isMissing ? "no input was found: plug the sound card in" : "the browser was not allowed to use the input: allow the microphone for this page", { cause: error });
  }
  const set = /** @type {MediaTrackSettings & { latency?: number }} */ (stream.getAudioTracks()[0].getSettings());
  const own = set.sampleRate ?? 0;
  const context = new AudioContext(isMeasured ? { latencyHint: "playback", ...(own >= 44100 ? { sampleRate: own } : {}) } : { latencyHint: 0 });
  await context.audioWorklet.addModule(`${base}convolver.js`);
  const source = context.createMediaStreamSource(stream);
  return { stream, context, source, latency: set.latency, isRaw: !(set.echoCancellation || set.noiseSuppression || set.autoGainControl) };
}

/**
 * Begins to record; returns the context, and whether the browser leaves what comes in as it is.
 *
 * @param {string} base
 * @param {{ isMeasured?: boolean, heard?: (blocks: Float32Array[][]) => void }} how For measuring; and what is told of what comes in.
 */
export async function record(base, { isMeasured = false, heard = () => {} } = {}) {
  const { stream, context, source, isRaw } = await input(base, isMeasured);
  /** @type {Float32Array[][]} */
  const blocks = [];
  const recorder = new AudioWorkletNode(context, "recorder", { numberOfOutputs: 0 });
  recorder.port.onmessage = ({ data }) => {
    blocks.push(...data);
    heard(data);
  };
  source.connect(recorder);
  recording = { context, stream, blocks };
  return { context, isRaw };
}

/** Ends the recording, and keeps nothing of it. */
export async function abandoned() {
  const had = recording;
  recording = null;
  had?.stream.getTracks().forEach((track) => track.stop());
  await had?.context.close();
}

/** Ends the recording and returns it as a file. */
export async function recorded() {
  if (!recording) throw new Error("nothing is being recorded");
  const { context, stream, blocks } = recording;
  recording = null;
  // What the worklet has still to hand on comes within that.
  await new Promise((done) => setTimeout(done, 150));
  stream.getTracks().forEach((track) => track.stop());
  const { sampleRate } = context;
  await context.close();
  if (blocks.length === 0) throw new Error("nothing came from the input: see in the system's settings which one is used");
  return wave(blocks, sampleRate);
}

/**
 * Returns a WAV file of 32-bit floats; two channels that are the same become one.
 *
 * @param {Float32Array[][]} blocks
 * @param {number} rate
 */
function wave(blocks, rate) {
  const isMono = blocks[0].length < 2 || blocks.every(([one, other]) => one.every((sample, i) => sample === other[i]));
  const channels = isMono ? 1 : 2;
  const frames = blocks.reduce((sum, [one]) => sum + one.length, 0);
  const bytes = new DataView(new ArrayBuffer(44 + 4 * channels * frames));
  /** @type {(at: number, text: string) => void} */
  const text = (at, letters) => [...letters].forEach((letter, i) => bytes.setUint8(at + i, letter.charCodeAt(0)));
  text(0, "RIFF");
  bytes.setUint32(4, bytes.byteLength - 8, true);
  text(8, "WAVEfmt ");
  bytes.setUint32(16, 16, true);
  bytes.setUint16(20, 3, true);
  bytes.setUint16(22, channels, true);
  bytes.setUint32(24, rate, true);
  bytes.setUint32(28, 4 * channels * rate, true);
  bytes.setUint16(32, 4 * channels, true);
  bytes.setUint16(34, 32, true);
  text(36, "data");
  bytes.setUint32(40, 4 * channels * frames, true);
  let at = 44;
  for (const block of blocks) {
    for (let i = 0; i < block[0].length; i += 1) {
      for (let c = 0; c < channels; c += 1) {
        bytes.setFloat32(at, block[c][i], true);
        at += 4;
      }
    }
  }
  return new Blob([bytes], { type: "audio/wav" });
}
