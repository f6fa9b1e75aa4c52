// A voice behind the amplifier, piece by piece: the sound through the voice's kernels, each channel through a chain of its own, and
// through the loudspeaker. A piece that does not follow the one before begins a while earlier, until what was missed is over.

/** For how long what the couplings and the loudspeaker missed is heard, in seconds: to less than a hundredth. */
const MISSED = 0.15;
/** The most frames that are worked out at once. */
const STRIDE = 8192;
/** The parts of a second that are measured one by one, and those among which the loudest moment is found. */
const HOPS = 10;
const MOMENTS = 20;

/**
 * Returns the frames of a hop at `rate`.
 *
 * @param {number} rate
 */
function hopOf(rate) {
  return Math.floor((rate + 5) / HOPS);
}

/**
 * Returns how many channels of a sound are heard.
 *
 * @param {Sounding} sound
 */
function channelsOf({ coils, planes }) {
  return coils > 0 ? 1 : planes.length;
}

/** Kernels, one a feed, on windows of a sound, two of whose channels are the real and the imaginary part of one transform. */
class Windows {
  /** @param {Kernels} kernels */
  constructor({ feeds, before }) {
    this.before = before;
    this.reach = Math.max(...feeds.map((taps) => taps.length));
    this.length = 2;
    while (this.length < STRIDE + this.reach) this.length *= 2;
    this.spectra = feeds.map((taps) => {
      const spectrum = this.silence();
      taps.forEach((tap, i) => { spectrum.re[i] = tap / this.length; });
      transform(spectrum.re, spectrum.im, -1);
      return spectrum;
    });
  }

  silence() {
    return { re: new Float64Array(this.length), im: new Float64Array(this.length) };
  }

  /**
   * Returns the next `count` frames of both channels; the first `reach - 1` samples of each window lie before them.
   *
   * @param {Complexes[]} windows which are used up
   * @param {number} count
   */
  run(windows, count) {
    const sum = this.silence();
    windows.forEach(({ re, im }, feed) => {
      const own = this.spectra[feed];
      transform(re, im, -1);
      for (let k = 0; k < this.length; k++) {
        sum.re[k] += re[k] * own.re[k] - im[k] * own.im[k];
        sum.im[k] += re[k] * own.im[k] + im[k] * own.re[k];
      }
    });
    transform(sum.re, sum.im, 1);
    const from = this.reach - 1;
    return [sum.re.subarray(from, from + count), sum.im.subarray(from, from + count)];
  }
}

/** Sections of second order one after the other, transposed direct form II. */
class Sections {
  /** @param {{ b: number[], a: number[] }[]} sections */
  constructor(sections) {
    this.sections = sections.map(({ b, a }) => ({ b, a, near: 0, far: 0 }));
  }

  /**
   * Passes samples in place, and returns them.
   *
   * @param {Float64Array} samples
   */
  run(samples) {
    for (const section of this.sections) {
      const { b: [b0, b1, b2], a: [a1, a2] } = section;
      let { near, far } = section;
      for (let i = 0; i < samples.length; i++) {
        const x = samples[i];
        const y = b0 * x + near;
        near = b1 * x - a1 * y + far;
        far = b2 * x - a2 * y;
        samples[i] = y;
      }
      section.near = Math.abs(near) < NO_STATE ? 0 : near;
      section.far = Math.abs(far) < NO_STATE ? 0 : far;
    }
    return samples;
  }
}

/** The mean square of each whole part of a sound, its channels added. */
class Means {
  /** @param {number} part */
  constructor(part) {
    this.part = part;
    /** @type {number[]} */
    this.sums = [];
  }

  /**
   * Adds samples of one channel, the first at the frame `at`.
   *
   * @param {Float64Array} samples
   * @param {number} at
   */
  add(samples, at) {
    samples.forEach((x, i) => {
      const place = Math.floor((at + i) / this.part);
      this.sums[place] = (this.sums[place] ?? 0) + x * x;
    });
  }

  /**
   * Returns the means of a sound of so many frames.
   *
   * @param {number} frames
   */
  of(frames) {
    return Float64Array.from({ length: Math.floor(frames / this.part) }, (_, place) => this.sums[place] / this.part);
  }
}

/** A voice at the jack. */
class AtJack {
  /**
   * @param {Sounding} sound
   * @param {Kernels} kernels
   * @param {SectionData | null} section
   */
  constructor(sound, kernels, section) {
    this.planes = sound.planes;
    this.coils = sound.coils;
    this.channels = channelsOf(sound);
    this.windows = new Windows(kernels);
    this.section = section;
    /** @type {Sections[]} */
    this.sections = [];
    this.rest();
  }

  /** Forgets what the section holds of frames before. */
  rest() {
    this.sections = Array.from({ length: this.channels }, () => new Sections(this.section ? [this.section] : []));
  }

  /**
   * Returns the next `count` frames from `from` on, one array a channel.
   *
   * @param {number} from
   * @param {number} count
   */
  frames(from, count) {
    const { planes, windows, coils, sections } = this;
    const start = from + windows.before - windows.reach + 1;
    const end = Math.max(0, start + windows.reach - 1 + count);
    /** @type {(to: Float64Array, plane: Float32Array) => void} */
    const read = (to, plane) => to.set(plane.subarray(Math.max(0, start), end), Math.max(0, -start));
    const feeds = coils > 0 ? planes : [planes[0]];
    const heard = feeds.map((plane) => {
      const window = windows.silence();
      read(window.re, plane);
      if (coils === 0 && planes.length > 1) read(window.im, planes[1]);
      return window;
    });
    return windows.run(heard, count).slice(0, this.channels).map((plane, channel) => sections[channel].run(plane));
  }

  /**
   * Returns the amplitude of the sine that has the power of the loudest moment, channels' powers averaged, and the K-weighted and
   * the plain mean square of each tenth of a second, of `frames` frames from `from` on.
   *
   * @param {number} rate
   * @param {number} from
   * @param {number} frames
   */
  async measured(rate, from, frames) {
    const [moments, plain, loud] = [Math.floor(rate / MOMENTS), hopOf(rate), hopOf(rate)].map((part) => new Means(part));
    const weightings = Array.from({ length: this.channels }, () => new Sections(kSections(rate)));
    this.rest();
    for (let at = 0; at < frames; at += STRIDE) {
      this.frames(from + at, Math.min(STRIDE, frames - at)).forEach((plane, channel) => {
        moments.add(plane, at);
        plain.add(plane, at);
        loud.add(weightings[channel].run(plane), at);
      });
      await pause();
    }
    const loudest = moments.of(frames).reduce((most, power) => Math.max(most, power), 0);
    return { loudest: Math.sqrt(2 * loudest / this.channels), plain: plain.of(frames), loud: loud.of(frames) };
  }
}

/** A voice behind an amplifier. */
class AmplifiedVoice {
  /**
   * @param {Amplifier} amplifier
   * @param {AtJack} jack
   * @param {number} rate
   * @param {number} gain
   */
  constructor(amplifier, jack, rate, gain) {
    this.amplifier = amplifier;
    this.jack = jack;
    this.rate = rate;
    this.gain = gain;
    this.frames = jack.planes[0].length;
    /** The frame that comes out next; none before the first piece. */
    this.next = NaN;
    /** The frame that goes into the chains next. */
    this.ahead = 0;
    /** @type {Chain[]} */
    this.chains = [];
    /** The last that came out of each chain. @type {Float64Array[]} */
    this.tails = [];
    /** @type {Sections[]} */
    this.weightings = [];
  }

  /**
   * Returns the `count` frames from `from` on, and the plain and the K-weighted mean square of each whole tenth of a second of them. Where
   * they do not follow those before, the stages begin with the frame `begin`.
   *
   * @param {number} from
   * @param {number} count
   * @param {number} begin
   */
  piece(from, count, begin) {
    if (this.next !== from) this.seek(from, begin);
    const planes = this.chains.map(() => new Float32Array(count));
    const [plain, loud] = [0, 1].map(() => new Means(hopOf(this.rate)));
    for (let at = 0; at < count; at += STRIDE) {
      const now = Math.min(STRIDE, count - at);
      const heard = this.amplifier.windows.run([this.advanced(now)], now);
      planes.forEach((to, channel) => {
        const plane = heard[channel];
        to.set(plane, at);
        plain.add(plane, at);
        loud.add(this.weightings[channel].run(plane), at);
      });
    }
    this.next = from + count;
    return { planes, plain: plain.of(count), loud: loud.of(count) };
  }

  /**
   * Begins anew at `begin`, to be heard at `from`.
   *
   * @param {number} from
   * @param {number} begin
   */
  seek(from, begin) {
    const { amplifier: { stages, curves, windows }, rate, gain } = this;
    const each = Array.from({ length: this.jack.channels });
    this.jack.rest();
    this.chains = each.map(() => new Chain(stages, curves, gain));
    this.tails = each.map(() => new Float64Array(windows.reach - 1));
    this.weightings = each.map(() => new Sections(kSections(rate)));
    this.ahead = begin;
    // The loudspeaker wants what lies that far ahead, by which the chains are late.
    while (this.ahead < from + windows.before) this.advanced(Math.min(STRIDE, from + windows.before - this.ahead));
  }

  /**
   * Takes the chains on by `count` frames; returns the window of what came out of them.
   *
   * @param {number} count
   */
  advanced(count) {
    const { windows } = this.amplifier;
    const window = windows.silence();
    const before = windows.reach - 1;
    // Behind its end a take has nothing, not what would still ring; by that comes out what is late in the chains.
    const sounding = Math.max(0, Math.min(count, this.frames - this.ahead));
    const jack = sounding > 0 ? this.jack.frames(this.ahead, sounding) : [];
    const silence = new Float64Array(count - sounding);
    this.tails.forEach((tail, channel) => {
      const to = channel === 0 ? window.re : window.im;
      to.set(tail);
      const chain = this.chains[channel];
      if (sounding > 0) chain.run(jack[channel], sounding, to, before);
      chain.run(silence, silence.length, to, before + sounding);
      tail.set(to.subarray(count, count + before));
    });
    this.ahead += count;
    return window;
  }
}
