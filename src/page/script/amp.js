// A generic amplifier after a voice, in double precision, by the tables that the program works by, and with its sums in the
// program's order: a gain; at a high rate a coupling, a curve, a coupling and a curve; then the loudspeaker.

/** Samples taken at once: few enough to stay in the processor's first cache at the high rate. */
const AT_ONCE = 128;
/** Below this a coupling's state is nothing: it would end among the numbers that processors are slow with. */
const NO_STATE = 1e-30;

/**
 * Returns the numbers of a text: 64-bit floats in base64, the lowest byte first.
 *
 * @param {string} text
 */
function numbersOf(text) {
  const bytes = Uint8Array.from(atob(text), (character) => character.charCodeAt(0));
  const view = new DataView(bytes.buffer);
  return Float64Array.from({ length: bytes.length / 8 }, (_, i) => view.getFloat64(8 * i, true));
}

/** A curve without memory: cubic pieces between two ends, straight lines beyond. */
class Curve {
  /**
   * `knots` has the value at each knot and the slope over a piece there, in turn.
   *
   * @param {CurveData} data
   */
  constructor({ from, density, knots: text }) {
    const knots = numbersOf(text);
    const count = knots.length / 2;
    this.from = from;
    this.density = density;
    this.last = count;
    /** The coefficients of each piece, by powers of the way through it; the first and the last are the lines beyond. */
    this.pieces = new Float64Array(4 * (count + 1));
    this.pieces.set([knots[0] - knots[1], knots[1]], 0);
    for (let n = 0; n + 1 < count; n++) {
      const [y0, s0, y1, s1] = knots.subarray(2 * n, 2 * n + 4);
      const rise = y1 - y0;
      this.pieces.set([y0, s0, 3 * rise - 2 * s0 - s1, s0 + s1 - 2 * rise], 4 * (n + 1));
    }
    this.pieces.set(knots.subarray(2 * count - 2), 4 * count);
  }
}

/** A filter's taps on the side that is not zero, on a line of samples that begins before the first by the filter's reach. */
class HalfBand {
  /**
   * @param {Float64Array} taps
   * @param {number} most the most samples that are filtered at once
   */
  constructor(taps, most) {
    this.taps = taps;
    this.reach = 2 * taps.length - 1;
    this.line = new Float64Array(this.reach + most);
  }

  /**
   * Returns the filter's sum for the sample at `i`.
   *
   * @param {number} i
   */
  at(i) {
    const { taps, reach, line } = this;
    let sum = 0;
    for (let n = 0, newer = i + reach, older = i; n < taps.length; n++, newer--, older++) sum += taps[n] * (line[newer] + line[older]);
    return sum;
  }
}

/** Doubles a rate. */
class Doubler {
  /**
   * @param {number[]} taps
   * @param {number} most
   */
  constructor(taps, most) {
    // Every second sample that goes in is zero.
    this.band = new HalfBand(Float64Array.from(taps, (tap) => 2 * tap), most);
  }

  /**
   * Puts twice as many samples as the first `count` of `from` are into `to`.
   *
   * @param {Float64Array} from
   * @param {number} count
   * @param {Float64Array} to
   */
  run(from, count, to) {
    const { band } = this;
    const { line, reach, taps } = band;
    for (let i = 0; i < count; i++) line[reach + i] = from[i];
    for (let i = 0; i < count; i++) {
      to[2 * i] = band.at(i);
      // The middle tap passes a sample on.
      to[2 * i + 1] = line[taps.length + i];
    }
    line.copyWithin(0, count, count + reach);
  }
}

/** Halves a rate. */
class Halver {
  /**
   * @param {number[]} taps
   * @param {number} most
   */
  constructor(taps, most) {
    this.band = new HalfBand(Float64Array.from(taps), most / 2);
    this.odd = new Float64Array(taps.length + most / 2);
  }

  /**
   * Puts half as many samples as the first `count` of `from` are, an even number, into `to`.
   *
   * @param {Float64Array} from
   * @param {number} count
   * @param {Float64Array} to
   */
  run(from, count, to) {
    const { band, odd } = this;
    const { line, reach, taps } = band;
    const half = count / 2;
    for (let i = 0; i < half; i++) {
      line[reach + i] = from[2 * i];
      odd[taps.length + i] = from[2 * i + 1];
    }
    for (let i = 0; i < half; i++) to[i] = band.at(i) + 0.5 * odd[i];
    line.copyWithin(0, half, half + reach);
    odd.copyWithin(0, half, half + taps.length);
  }
}

/** One channel on its way through the stages: however it is cut, the same comes out. */
class Chain {
  /**
   * @param {StagesData} stages
   * @param {[Curve, Curve]} curves
   * @param {number} gain
   */
  constructor({ coupling, half_bands: bands }, curves, gain) {
    this.gain = gain;
    this.curves = curves;
    this.coupling = coupling;
    /** What came to each coupling last, and what it gave. */
    this.states = new Float64Array(4);
    this.up = bands.map((taps, n) => new Doubler(taps, AT_ONCE << n));
    this.down = bands.map((taps, n) => new Halver(taps, AT_ONCE << (n + 1))).reverse();
    this.one = new Float64Array(AT_ONCE << bands.length);
    this.other = new Float64Array(AT_ONCE << bands.length);
  }

  /**
   * Puts what becomes of the first `count` samples of `from` into `to`, from `at` on.
   *
   * @param {Float64Array} from
   * @param {number} count
   * @param {Float64Array} to
   * @param {number} at
   */
  run(from, count, to, at) {
    for (let start = 0; start < count; start += AT_ONCE) {
      let length = Math.min(AT_ONCE, count - start);
      let [own, other] = [this.one, this.other];
      for (let i = 0; i < length; i++) own[i] = this.gain * from[start + i];
      for (const doubler of this.up) {
        doubler.run(own, length, other);
        [own, other] = [other, own];
        length *= 2;
      }
      this.pass(own, length);
      for (const halver of this.down) {
        halver.run(own, length, other);
        [own, other] = [other, own];
        length /= 2;
      }
      for (let i = 0; i < length; i++) to[at + start + i] = own[i];
    }
  }

  /**
   * Passes the first `count` samples through coupling, curve, coupling and curve.
   *
   * @param {Float64Array} samples
   * @param {number} count
   */
  pass(samples, count) {
    const { states, coupling: [share, decay], curves: [first, second] } = this;
    const { from: from1, density: density1, last: last1, pieces: pieces1 } = first;
    const { from: from2, density: density2, last: last2, pieces: pieces2 } = second;
    let [before1, state1, before2, state2] = states;
    for (let i = 0; i < count; i++) {
      const x = samples[i];
      let y = (x - before1) * share + state1 * decay;
      before1 = x;
      state1 = Math.abs(y) < NO_STATE ? 0 : y;
      let place = (state1 - from1) * density1;
      let number = Math.trunc(Math.min(Math.max(place, 0), last1));
      let way = place - number;
      number *= 4;
      const between = pieces1[number] + way * (pieces1[number + 1] + way * (pieces1[number + 2] + way * pieces1[number + 3]));
      y = (between - before2) * share + state2 * decay;
      before2 = between;
      state2 = Math.abs(y) < NO_STATE ? 0 : y;
      place = (state2 - from2) * density2;
      number = Math.trunc(Math.min(Math.max(place, 0), last2));
      way = place - number;
      number *= 4;
      samples[i] = pieces2[number] + way * (pieces2[number + 1] + way * (pieces2[number + 2] + way * pieces2[number + 3]));
    }
    states.set([before1, state1, before2, state2]);
  }
}

/** The amplifier as all voices have it at one rate. */
class Amplifier {
  /** @param {AmplifierData} data */
  constructor({ stages, loudspeaker }) {
    this.stages = stages;
    const [first, second] = stages.curves;
    /** @type {[Curve, Curve]} */
    this.curves = [new Curve(first), new Curve(second)];
    this.windows = new Windows({ feeds: [numbersOf(loudspeaker.taps)], before: loudspeaker.before });
  }
}
