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

/** Complex numbers, as many as a transform has. @typedef {{ re: Float64Array, im: Float64Array }} Complexes */

/** @returns {Complexes} */
const complexes = () => ({ re: new Float64Array(SIZE), im: new Float64Array(SIZE) });

/**
 * A kernel as the convolution needs it: for each feed the spectra of its parts, `skip` parts late.
 *
 * @typedef {{ skip: number, feeds: (Complexes | null)[][] }} Parts
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
      const spectrum = complexes();
      for (let i = 0; i < PART; i += 1) spectrum.re[i] = taps[part * PART + i - rest] ?? 0;
      if (spectrum.re.every((tap) => tap === 0)) return null;
      transform(spectrum.re, spectrum.im, -1);
      return spectrum;
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
    this.spectra = Array.from({ length: blocks }, complexes);
    this.at = 0;
    this.last = complexes();
  }

  /**
   * Takes the next block in, the first half of `block`.
   *
   * @param {Complexes} block
   */
  push(block) {
    this.at = (this.at + 1) % this.spectra.length;
    const spectrum = this.spectra[this.at];
    for (const of of /** @type {const} */ (["re", "im"])) {
      const half = block[of].subarray(0, PART);
      spectrum[of].set(this.last[of].subarray(0, PART));
      spectrum[of].set(half, PART);
      this.last[of].set(half);
    }
    transform(spectrum.re, spectrum.im, -1);
  }

  /**
   * Adds to `sum` what `parts` make of the stream.
   *
   * @param {(Complexes | null)[]} parts
   * @param {number} skip
   * @param {Complexes} sum
   */
  add(parts, skip, { re, im }) {
    const { spectra } = this;
    for (let k = 0; k < parts.length; k += 1) {
      const part = parts[k];
      if (!part) continue;
      const own = spectra[(this.at + 2 * spectra.length - skip - k) % spectra.length];
      for (let i = 0; i < SIZE; i += 1) {
        re[i] += own.re[i] * part.re[i] - own.im[i] * part.im[i];
        im[i] += own.re[i] * part.im[i] + own.im[i] * part.re[i];
      }
    }
  }
}

/**
 * A kernel, or what was worked out of a voice behind the amplifier, one list a channel as long as the sound's.
 *
 * @typedef {Parts | Float32Array[]} Voiced
 */
/** @typedef {{ voiced: Voiced, gain: number, number: number }} Heard */

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
    /** The first frame that is looped, and the first behind it. @type {[number, number]} */
    this.region = [0, 0];
    /** Where it plays from once what plays has faded. @type {number | null} */
    this.from = null;
    /** The frame, counted from the first that is played, whose output comes next; none where nothing plays. */
    /** @type {number | null} */
    this.place = null;
    /** The gain of what is started or stopped, and where it goes. */
    this.edge = 1;
    this.edgeTo = 1;
    /** @type {Map<string, Parts>} */
    this.kernels = new Map();
    /** What is heard behind the amplifier, as far as it is there. @type {Map<string, Float32Array[]>} */
    this.reels = new Map();
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
    this.one = complexes();
    this.other = complexes();
    this.piece = complexes();
    this.port.onmessage = ({ data }) => {
      if (data.sound) this.take(data.sound);
      if (data.kernel) this.kernels.set(data.kernel.id, partsOf(data.kernel.feeds, data.kernel.before, this.ahead));
      if (data.amplified) this.wind(data.amplified);
      if (data.keep) for (const id of this.reels.keys()) if (!data.keep.includes(id)) this.reels.delete(id);
      if (data.hear) this.wish = data.hear;
      if (data.loops !== undefined) [this.loops, this.region] = [data.loops, data.region ?? [0, this.frames]];
      if (data.play !== undefined) this.play(data.play);
      if (data.stop) [this.edgeTo, this.from] = [0, null];
    };
  }

  /** @param {{ planes: Float32Array[], lead: number, frames: number, coils: number, ahead: number }} sound */
  take({ planes, lead, frames, coils, ahead }) {
    Object.assign(this, { planes, lead, frames, ahead, isOfCoils: coils > 0, region: [0, frames], place: null, from: null, heard: null, next: null, wish: null });
    this.kernels.clear();
    this.reels.clear();
  }

  /**
   * Takes a part of a voice behind the amplifier in, from `first` of the frames that are played on.
   *
   * @param {{ id: string, first: number, planes: Float32Array[] }} part
   */
  wind({ id, first, planes }) {
    const reel = this.reels.get(id) ?? planes.map(() => new Float32Array(this.lead + this.frames));
    this.reels.set(id, reel);
    planes.forEach((plane, channel) => {
      const at = this.lead + first;
      const skipped = Math.max(0, -at);
      reel[channel].set(plane.subarray(skipped, Math.max(skipped, reel[channel].length - at)), at + skipped);
    });
  }

  /** @param {number} from */
  play(from) {
    if (this.place === null || this.edge === 0) this.startAt(from);
    else [this.edgeTo, this.from] = [0, from];
  }

  /** @param {number} from */
  startAt(from) {
    this.from = null;
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
    const { lead, region: [start, end] } = this;
    const within = this.within(frame);
    const own = plane[lead + within] ?? 0;
    const seam = Math.min(Math.round(SEAM * sampleRate), end - start);
    const into = within - (end - seam);
    if (!this.loops || into < 0) return own;
    const share = (into + 1) / seam;
    return own * (1 - share) + (plane[lead + within - (end - start)] ?? 0) * share;
  }

  /**
   * Returns the frame of the sound that is heard where so many have been played, which in a loop come again.
   *
   * @param {number} frame
   */
  within(frame) {
    const [start, end] = this.region;
    return !this.loops || frame < end ? frame : start + (frame - start) % (end - start);
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
        piece.re[n] = this.sample(planes[i], frame + n);
        piece.im[n] = other ? this.sample(other, frame + n) : 0;
      }
      stream.push(piece);
    });
  }

  /**
   * Puts into `sum` what a kernel makes of the sound now.
   *
   * @param {Parts} parts
   * @param {Complexes} sum
   */
  convolve({ feeds, skip }, sum) {
    sum.re.fill(0);
    sum.im.fill(0);
    this.streams.forEach((stream, i) => { if (feeds[i]) stream.add(feeds[i], skip, sum); });
    transform(sum.re, sum.im, 1);
  }

  /**
   * Puts into `sum` what is heard of the sound at `place`.
   *
   * @param {Voiced} voiced
   * @param {number} place
   * @param {Complexes} sum
   */
  voice(voiced, place, sum) {
    if (!Array.isArray(voiced)) {
      this.convolve(voiced, sum);
      return;
    }
    const [left, right] = voiced;
    for (let n = 0; n < PART; n += 1) {
      sum.re[PART + n] = SIZE * this.sample(left, place + n);
      sum.im[PART + n] = right ? SIZE * this.sample(right, place + n) : 0;
    }
  }

  begin() {
    const { wish } = this;
    if (!wish) return;
    const voiced = this.kernels.get(wish.id) ?? this.reels.get(wish.id);
    if (!voiced) return;
    this.wish = null;
    const wanted = { voiced, gain: wish.gain, number: wish.number };
    if (!Array.isArray(voiced) && this.place !== null && blocksOf(voiced) > this.streams[0].spectra.length) this.remember(this.place, blocksOf(voiced));
    if (!this.heard || this.place === null) this.heard = wanted;
    else if (this.heard.voiced !== voiced || this.heard.gain !== wish.gain) [this.next, this.faded] = [wanted, 0];
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
    this.voice(heard.voiced, place, this.one);
    const { next } = this;
    const isSame = next?.voiced === heard.voiced;
    if (next && !isSame) this.voice(next.voiced, place, this.other);
    const other = isSame ? this.one : this.other;
    const [fade, edge] = [1 / Math.round(FADE * sampleRate), 1 / Math.round(EDGE * sampleRate)];
    const isMono = this.isOfCoils || this.planes.length === 1;
    for (let n = 0; n < PART; n += 1) {
      if (next) this.faded = Math.min(1, this.faded + fade);
      this.edge += Math.max(-edge, Math.min(edge, this.edgeTo - this.edge));
      const [from, to] = [heard.gain * (1 - (next ? this.faded : 0)), next ? next.gain * this.faded : 0];
      for (let c = 0; c < output.length; c += 1) {
        const of = isMono || c === 0 ? "re" : "im";
        const value = (this.one[of][PART + n] * from + (next ? other[of][PART + n] * to : 0)) / SIZE * this.edge;
        output[c][n] = value;
        if (c === 0) {
          this.power += value * value;
          this.peak = Math.max(this.peak, Math.abs(value));
        }
      }
    }
    if (next && this.faded >= 1) [this.heard, this.next] = [next, null];
    this.place = place + PART;
    if (this.loops) this.place = this.within(this.place - this.ahead) + this.ahead;
    const hasFaded = this.edgeTo === 0 && this.edge === 0;
    if (hasFaded && this.from !== null) this.startAt(this.from);
    const hasEnded = (!this.loops && this.place >= this.frames) || (this.edgeTo === 0 && this.edge === 0);
    if (hasEnded) this.place = null;
    this.block += 1;
    if (hasEnded || this.block % REPORT === 0) {
      this.port.postMessage({ place: hasEnded ? null : this.within(this.place ?? 0), peak: this.peak, rms: Math.sqrt(this.power / (REPORT * PART)) });
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
    piece.re.set(plane);
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
