// @ts-check
// What runs in the sound card's own thread: a player of one sound with a convolution of its own, in parts of 128 frames and in
// double precision. All voices share the history of the sound, so a new kernel is exact from its first block, and only what is
// heard costs anything. Switching moves between two kernels in a straight line; a wish within such a fade waits, and the last
// one wins.

const PART = 128;
const SIZE = 2 * PART;
/** How long a fade from one kernel or gain to another takes, in seconds. */
const FADE = 0.012;
/** How long what is started within a sound, or stopped, fades. */
const EDGE = 0.003;
/** How long the end of a loop is led over into what comes before its start. */
const SEAM = 0.008;
/** Over how many blocks a kernel for what comes in live reaches at most. */
const LIVE_BLOCKS = 64;
/** How many parts pass between two reports. */
const REPORT = 12;

const turns = Float64Array.from({ length: SIZE }, (_, i) => (i % 2 === 0 ? Math.cos : Math.sin)(-2 * Math.PI * (i >> 1) / SIZE));
const mirrored = Uint16Array.from({ length: SIZE }, (_, i) => {
  let mirror = 0;
  for (let bit = 1; bit < SIZE; bit *= 2) mirror = mirror * 2 + (i & bit ? 1 : 0);
  return mirror;
});

/**
 * Transforms `SIZE` complex numbers as pairs, in place.
 *
 * @param {Float64Array} pairs
 */
function transform(pairs) {
  for (let i = 0; i < SIZE; i += 1) {
    const j = mirrored[i];
    if (j <= i) continue;
    const [re, im] = [pairs[2 * i], pairs[2 * i + 1]];
    pairs[2 * i] = pairs[2 * j];
    pairs[2 * i + 1] = pairs[2 * j + 1];
    pairs[2 * j] = re;
    pairs[2 * j + 1] = im;
  }
  for (let half = 1; half < SIZE; half *= 2) {
    const step = SIZE / (2 * half);
    for (let start = 0; start < SIZE; start += 2 * half) {
      for (let k = 0; k < half; k += 1) {
        const [c, s] = [turns[2 * k * step], turns[2 * k * step + 1]];
        const [a, b] = [2 * (start + k), 2 * (start + k + half)];
        const re = pairs[b] * c - pairs[b + 1] * s;
        const im = pairs[b] * s + pairs[b + 1] * c;
        pairs[b] = pairs[a] - re;
        pairs[b + 1] = pairs[a + 1] - im;
        pairs[a] += re;
        pairs[a + 1] += im;
      }
    }
  }
}

/**
 * A kernel as the convolution needs it: for each feed the spectra of its parts, `skip` parts late.
 *
 * @typedef {{ skip: number, feeds: (Float64Array | null)[][] }} Parts
 */

/**
 * Cuts a kernel into parts. Its output comes `ahead` frames after what goes in, of which its own taps before time zero are some.
 *
 * @param {Float32Array[]} feeds
 * @param {number} before
 * @param {number} ahead
 * @returns {Parts}
 */
function partsOf(feeds, before, ahead) {
  const late = Math.max(0, ahead - before);
  const [skip, rest] = [Math.floor(late / PART), late % PART];
  return {
    skip,
    feeds: feeds.map((taps) => Array.from({ length: Math.ceil((taps.length + rest) / PART) }, (_, part) => {
      const pairs = new Float64Array(2 * SIZE);
      let isSilent = true;
      for (let i = 0; i < PART; i += 1) {
        const tap = taps[part * PART + i - rest] ?? 0;
        pairs[2 * i] = tap;
        if (tap !== 0) isSilent = false;
      }
      if (isSilent) return null;
      transform(pairs);
      return pairs;
    })),
  };
}

/**
 * Returns over how many blocks a kernel reaches.
 *
 * @param {Parts} parts
 */
function blocksOf({ skip, feeds }) {
  return skip + Math.max(...feeds.map((parts) => parts.length));
}

/** The spectra of the last blocks of one stream: a channel, or two as the real and the imaginary part. */
class History {
  /** @param {number} blocks */
  constructor(blocks) {
    this.spectra = Array.from({ length: blocks }, () => new Float64Array(2 * SIZE));
    this.at = 0;
    this.last = new Float64Array(2 * PART);
  }

  /**
   * Takes the next block in, as pairs.
   *
   * @param {Float64Array} block
   */
  push(block) {
    this.at = (this.at + 1) % this.spectra.length;
    const pairs = this.spectra[this.at];
    pairs.set(this.last);
    pairs.set(block, 2 * PART);
    this.last.set(block);
    transform(pairs);
  }

  /**
   * Adds to `sum` what `parts` make of the stream.
   *
   * @param {(Float64Array | null)[]} parts
   * @param {number} skip
   * @param {Float64Array} sum
   */
  add(parts, skip, sum) {
    const { spectra } = this;
    for (let k = 0; k < parts.length; k += 1) {
      const part = parts[k];
      if (!part) continue;
      const own = spectra[(this.at + 2 * spectra.length - skip - k) % spectra.length];
      for (let i = 0; i < 2 * SIZE; i += 2) {
        sum[i] += own[i] * part[i] - own[i + 1] * part[i + 1];
        sum[i + 1] += own[i] * part[i + 1] + own[i + 1] * part[i];
      }
    }
  }
}

/** @typedef {{ parts: Parts, gain: number, number: number }} Heard */

class Convolver extends AudioWorkletProcessor {
  constructor() {
    super();
    /** @type {Float32Array[]} */
    this.planes = [];
    this.isOfCoils = false;
    this.lead = 0;
    this.frames = 0;
    this.ahead = 0;
    /** @type {History[]} */
    this.streams = [];
    this.loops = true;
    /** The frame, counted from the first that is played, whose output comes next; none where nothing plays. */
    /** @type {number | null} */
    this.place = null;
    /** The gain of what is started or stopped, and where it goes. */
    this.edge = 1;
    this.edgeTo = 1;
    /** @type {Map<string, Parts>} */
    this.kernels = new Map();
    /** @type {Heard | null} */
    this.heard = null;
    /** @type {Heard | null} */
    this.next = null;
    this.faded = 0;
    /** @type {{ id: string, gain: number, number: number } | null} */
    this.wish = null;
    this.block = 0;
    this.peak = 0;
    this.power = 0;
    this.one = new Float64Array(2 * SIZE);
    this.other = new Float64Array(2 * SIZE);
    this.piece = new Float64Array(2 * PART);
    this.port.onmessage = ({ data }) => {
      if (data.sound) this.take(data.sound);
      if (data.kernel) this.kernels.set(data.kernel.id, partsOf(data.kernel.feeds, data.kernel.before, this.ahead));
      if (data.hear) this.wish = data.hear;
      if (data.loops !== undefined) this.loops = data.loops;
      if (data.play !== undefined) this.play(data.play);
      if (data.stop) this.edgeTo = 0;
    };
  }

  /** @param {{ planes: Float32Array[], lead: number, frames: number, coils: number, ahead: number }} sound */
  take({ planes, lead, frames, coils, ahead }) {
    Object.assign(this, { planes, lead, frames, ahead, isOfCoils: coils > 0, place: null, heard: null, next: null, wish: null });
    this.kernels.clear();
  }

  /** @param {number} from */
  play(from) {
    this.place = Math.floor(from);
    this.edge = from > 0 ? 0 : 1;
    this.edgeTo = 1;
    this.remember(this.place, Math.max(1, ...[...this.kernels.values()].map(blocksOf)));
  }

  /**
   * Reads as much of the sound before `place` as kernels that reach over so many `blocks` hear there.
   *
   * @param {number} place
   * @param {number} blocks
   */
  remember(place, blocks) {
    this.streams = (this.isOfCoils ? this.planes : [this.planes[0]]).map(() => new History(blocks));
    for (let i = blocks; i > 0; i -= 1) this.read(place + this.ahead - i * PART);
  }

  /**
   * Returns a sample of a channel at a frame counted from the first that is played.
   *
   * @param {Float32Array} plane
   * @param {number} frame
   */
  sample(plane, frame) {
    const { lead, frames } = this;
    if (!this.loops || frame < 0) return plane[lead + frame] ?? 0;
    const within = frame % frames;
    const seam = Math.min(Math.round(SEAM * sampleRate), frames);
    const into = within - (frames - seam);
    const own = plane[lead + within] ?? 0;
    if (into < 0) return own;
    const share = (into + 1) / seam;
    return own * (1 - share) + (plane[lead + within - frames] ?? 0) * share;
  }

  /**
   * Reads the block that begins at `frame` into the histories.
   *
   * @param {number} frame
   */
  read(frame) {
    const { planes, piece } = this;
    this.streams.forEach((stream, i) => {
      const other = this.isOfCoils ? null : planes[1];
      for (let n = 0; n < PART; n += 1) {
        piece[2 * n] = this.sample(planes[i], frame + n);
        piece[2 * n + 1] = other ? this.sample(other, frame + n) : 0;
      }
      stream.push(piece);
    });
  }

  /**
   * Puts into `sum` what a kernel makes of the sound now.
   *
   * @param {Parts} parts
   * @param {Float64Array} sum
   */
  convolve({ feeds, skip }, sum) {
    sum.fill(0);
    this.streams.forEach((stream, i) => { if (feeds[i]) stream.add(feeds[i], skip, sum); });
    // The inverse is the transform with real and imaginary parts exchanged.
    for (let i = 0; i < 2 * SIZE; i += 2) [sum[i], sum[i + 1]] = [sum[i + 1], sum[i]];
    transform(sum);
    for (let i = 0; i < 2 * SIZE; i += 2) [sum[i], sum[i + 1]] = [sum[i + 1] / SIZE, sum[i] / SIZE];
  }

  begin() {
    const { wish } = this;
    const parts = wish && this.kernels.get(wish.id);
    if (!wish || !parts) return;
    this.wish = null;
    const wanted = { parts, gain: wish.gain, number: wish.number };
    if (this.place !== null && blocksOf(parts) > this.streams[0].spectra.length) this.remember(this.place, blocksOf(parts));
    if (!this.heard || this.place === null) this.heard = wanted;
    else if (this.heard.parts !== parts || this.heard.gain !== wish.gain) [this.next, this.faded] = [wanted, 0];
    this.port.postMessage({ began: wish.number, at: currentTime });
  }

  /**
   * @param {Float32Array[][]} _inputs
   * @param {Float32Array[][]} outputs
   */
  process(_inputs, [output]) {
    if (!this.next) this.begin();
    const { heard, place } = this;
    if (place === null || !heard) return true;
    this.read(place + this.ahead);
    this.convolve(heard.parts, this.one);
    const { next } = this;
    const isSame = next?.parts === heard.parts;
    if (next && !isSame) this.convolve(next.parts, this.other);
    const other = isSame ? this.one : this.other;
    const [fade, edge] = [1 / Math.round(FADE * sampleRate), 1 / Math.round(EDGE * sampleRate)];
    const isMono = this.isOfCoils || this.planes.length === 1;
    for (let n = 0; n < PART; n += 1) {
      if (next) this.faded = Math.min(1, this.faded + fade);
      this.edge += Math.max(-edge, Math.min(edge, this.edgeTo - this.edge));
      const [from, to] = [heard.gain * (1 - (next ? this.faded : 0)), next ? next.gain * this.faded : 0];
      const at = 2 * (PART + n);
      for (let c = 0; c < output.length; c += 1) {
        const i = at + (isMono ? 0 : Math.min(c, 1));
        const value = (this.one[i] * from + (next ? other[i] * to : 0)) * this.edge;
        output[c][n] = value;
        if (c === 0) {
          this.power += value * value;
          this.peak = Math.max(this.peak, Math.abs(value));
        }
      }
    }
    if (next && this.faded >= 1) [this.heard, this.next] = [next, null];
    this.place = place + PART;
    if (this.loops && this.place >= this.frames + this.ahead) this.place -= this.frames;
    const hasEnded = (!this.loops && this.place >= this.frames) || (this.edgeTo === 0 && this.edge === 0);
    if (hasEnded) this.place = null;
    this.block += 1;
    if (hasEnded || this.block % REPORT === 0) {
      this.port.postMessage({ place: hasEnded ? null : (this.place ?? 0) % this.frames, peak: this.peak, rms: Math.sqrt(this.power / (REPORT * PART)) });
      [this.peak, this.power] = [0, 0];
    }
    return true;
  }
}

/** The same with what comes in in place of a sound: as soon as a block is in, what is made of it goes out. */
class Live extends Convolver {
  constructor() {
    super();
    [this.place, this.frames, this.loops] = [0, Infinity, false];
    this.planes = [new Float32Array(PART)];
    this.streams = [new History(LIVE_BLOCKS)];
  }

  /** Reads what came in. */
  read() {
    const [plane] = this.planes;
    const { piece } = this;
    for (let n = 0; n < PART; n += 1) [piece[2 * n], piece[2 * n + 1]] = [plane[n], 0];
    this.streams[0].push(piece);
  }

  /**
   * @param {Float32Array[][]} inputs
   * @param {Float32Array[][]} outputs
   */
  process(inputs, outputs) {
    const [own] = this.planes;
    const [one, other] = inputs[0];
    // A guitar is on one of two inputs, or the same is on both.
    const isOne = !other || other.every((sample, n) => sample === one[n]);
    for (let n = 0; n < PART; n += 1) own[n] = one ? one[n] + (isOne ? 0 : other[n]) : 0;
    return super.process(inputs, outputs);
  }
}

/** Hands on what comes in, for a recording. */
class Recorder extends AudioWorkletProcessor {
  constructor() {
    super();
    /** @type {Float32Array[][]} */
    this.blocks = [];
  }

  /** @param {Float32Array[][]} inputs */
  process([input]) {
    if (input.length > 0) this.blocks.push(input.map((plane) => plane.slice()));
    if (this.blocks.length >= 32) {
      this.port.postMessage(this.blocks);
      this.blocks = [];
    }
    return true;
  }
}

registerProcessor("convolver", Convolver);
registerProcessor("live", Live);
registerProcessor("recorder", Recorder);

export {};
