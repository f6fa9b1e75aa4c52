// A voice: what an arrangement makes of the source, from its circuit (or its resonance alone) and from how a source
// that does not tell the coils apart is given to them.

/** The frequency at which low levels are stated. */
const LOW = 100;
/** Points of the drawn curves, evenly spaced on a logarithmic scale. */
const CURVE = Array.from({ length: 160 }, (_, i) => 50 * 400 ** (i / 159));

/** The complex weights of the coils for a source of one channel: [ar, ai, br, bi]. */
function shares(rule, frequency) {
  switch (rule.kind) {
    case "whole": return [1, 0, 0, 0];
    case "halves": return [0.5, 0, 0.5, 0];
    default: {
      const turn = Math.PI * frequency * rule.delay;
      const [a, b] = [rule.weight, 1 - rule.weight];
      const split = [a * Math.cos(turn), a * Math.sin(turn), b * Math.cos(turn), -b * Math.sin(turn)];
      if (rule.kind === "undivided") return split;
      const sum = Math.max(Math.hypot(split[0] + split[2], split[1] + split[3]), rule.least_sum);
      return split.map((x) => x / sum);
    }
  }
}

/** Returns the weights of the coils for each feed: one feed of a plain source, or one a coil. */
function weightsOf(voice, byCoils) {
  const [a, b] = voice.outputs;
  if (byCoils) return () => [[a, 0, 0, 0], [0, 0, b, 0]];
  return (frequency) => {
    const [ar, ai, br, bi] = shares(voice.rule, frequency);
    return [[a * ar, a * ai, b * br, b * bi]];
  };
}

/** The response of one digital section to each coil, its share being one number. */
class Section {
  constructor(section, weights) {
    Object.assign(this, { section, weights });
  }

  spectra(frequencies) {
    const { b, a, shares: [shareA, shareB], rate_hz: rate } = this.section;
    const feeds = this.weights(0).map(() => new Float64Array(2 * frequencies.length));
    frequencies.forEach((f, k) => {
      const turn = -2 * Math.PI * f / rate;
      const [z1, z2] = [[Math.cos(turn), Math.sin(turn)], [Math.cos(2 * turn), Math.sin(2 * turn)]];
      const [nr, ni] = [b[0] + b[1] * z1[0] + b[2] * z2[0], b[1] * z1[1] + b[2] * z2[1]];
      const [dr, di] = [1 + a[0] * z1[0] + a[1] * z2[0], a[0] * z1[1] + a[1] * z2[1]];
      const power = dr * dr + di * di;
      const [hr, hi] = [(nr * dr + ni * di) / power, (ni * dr - nr * di) / power];
      this.weights(f).forEach(([ar, ai, br, bi], feed) => {
        const [wr, wi] = [ar * shareA + br * shareB, ai * shareA + bi * shareB];
        feeds[feed][2 * k] = hr * wr - hi * wi;
        feeds[feed][2 * k + 1] = hr * wi + hi * wr;
      });
    });
    return feeds;
  }
}

/** Returns where the knobs stand in the guitar's file: {volume, tone, cable}. */
function homeOf(set) {
  const { volume, tone, cable } = set.knobs;
  return { volume: volume?.turned, tone: tone?.turned, cable };
}

/** Returns the voices of `set` for a source by coils, or for one that does not tell them apart. */
function voicesOf(set, byCoils) {
  const recorded = set.recorded && new Heard(set.recorded.circuit, weightsOf(set.recorded, false));
  if (recorded) Object.assign(recorded, set.recorded.bound);
  return set.voices.map((data) => new Voice(set, data, recorded, byCoils));
}

class Voice {
  constructor(set, data, recorded, byCoils) {
    this.data = data;
    this.recorded = recorded;
    this.knobs = set.knobs;
    const splits = ["divided", "undivided"].includes(data.rule.kind) && !byCoils;
    this.rest = splits ? REST.approximate : REST.exact;
    const weights = weightsOf(this.data, byCoils);
    const telling = () => [[this.data.telling[0], 0, this.data.telling[1], 0]];
    if (this.data.circuit) {
      this.heard = new Heard(this.data.circuit, weights);
      this.drawn = new Heard(this.data.circuit, telling);
      this.curveTables = this.drawn.solved(CURVE);
      this.lowTables = this.heard.solved([LOW]);
    } else {
      this.heard = new Section(this.data.section, weights);
      this.drawn = new Section(this.data.section, telling);
    }
  }

  /** Returns the responses at the bins of `length` at `rate` with the knobs at `turned`, one array a feed. */
  spectra(rate, length, turned) {
    const [step, count] = [rate / length, length / 2 + 1];
    if (!this.data.circuit) return this.heard.spectra(Array.from({ length: count }, (_, k) => k * step));
    const outputs = Array.from({ length: this.heard.feeds }, () => new Float64Array(2 * count));
    const part = partsAt(this.data.circuit, this.knobs, turned);
    this.heard.attach(this.heard.tableOf(step, count), (k) => k * step, part, outputs);
    if (this.recorded) this.bound(outputs[0], step, count, part);
    return outputs;
  }

  /** Makes a target's response the bounded ratio to that of the voice that the take was recorded through. */
  bound(target, step, count, part) {
    const none = () => 0;
    const recorded = [new Float64Array(2 * count)];
    this.recorded.attach(this.recorded.tableOf(step, count), none, none, recorded);
    const [low, recordedLow] = [[new Float64Array(2)], [new Float64Array(2)]];
    this.heard.attach(this.lowTables, () => LOW, part, low);
    this.recorded.attach(this.recorded.solved([LOW]), none, none, recordedLow);
    const { order } = this.recorded;
    const cap = this.recorded.cap * Math.hypot(...low[0]) / Math.hypot(...recordedLow[0]);
    for (let k = 0; k < count; k++) {
      const [tr, ti, rr, ri] = [target[2 * k], target[2 * k + 1], recorded[0][2 * k], recorded[0][2 * k + 1]];
      const power = rr * rr + ri * ri;
      const [re, im] = [(tr * rr + ti * ri) / power, (ti * rr - tr * ri) / power];
      const over = Math.hypot(re, im) / cap;
      const held = Number.isFinite(over) ? (1 + over ** order) ** (-1 / order) : 0;
      target[2 * k] = held === 0 ? 0 : re * held;
      target[2 * k + 1] = held === 0 ? 0 : im * held;
    }
  }

  /**
   * Returns the kernels at `rate` with the knobs at `turned` and the responses at the bins of the shortest kernel's
   * length.
   */
  made(rate, turned) {
    let spectra = null;
    const kernels = kernelsOf(rate, this.rest, (length) => {
      const here = this.spectra(rate, length, turned);
      spectra ??= here;
      return here;
    });
    return { kernels, spectra };
  }

  /** Returns the circuit's magnitude along `CURVE` with the knobs at `turned`, as at the jack. */
  curve(turned) {
    const output = this.data.circuit ? [new Float64Array(2 * CURVE.length)] : this.drawn.spectra(CURVE);
    if (this.data.circuit) {
      const part = partsAt(this.data.circuit, this.knobs, turned);
      this.drawn.attach(this.curveTables, (k) => CURVE[k], part, output);
    }
    return CURVE.map((_, k) => Math.hypot(output[0][2 * k], output[0][2 * k + 1]));
  }
}
