// A voice: what an arrangement makes of the source, from its circuit and from how a source that does not tell the coils
// apart is given to them.

/** The frequency at which low levels are stated. */
const LOW = 100;
/** Points of the drawn curves, evenly spaced on a logarithmic scale. */
const CURVE = Array.from({ length: 160 }, (_, i) => 50 * 400 ** (i / 159));

/** Below this frequency in hertz a share of a split no longer changes. */
const LOWEST = 1;

/**
 * The complex weights of the coils for a source of one channel, as pairs.
 *
 * @param {RuleData} rule
 * @param {number} frequency
 * @returns {number[]}
 */
function shares(rule, frequency) {
  switch (rule.kind) {
    case "whole": return [1, 0];
    case "halves": return [0.5, 0, 0.5, 0];
    case "split": {
      const { coils, pickups, speeds } = rule;
      const turn = 2 * Math.PI * frequency;
      const held = 2 * Math.PI * Math.max(frequency, LOWEST);
      /** @type {(heard: (speed: number) => number) => number} */
      const overStrings = (heard) => speeds.reduce((sum, speed) => sum + heard(speed), 0) / speeds.length;
      /** @type {(places: number[]) => number} */
      const power = (places) =>
        overStrings((speed) => places.reduce((sum, place) => sum + Math.sin(held * place / speed), 0) ** 2);
      const together = pickups.reduce((sum, places) => sum + power(places), 0) / pickups.length;
      return coils.flatMap(([place, lead]) => {
        const weight = Math.sqrt(power([place]) / together);
        return [weight * Math.cos(turn * lead), weight * Math.sin(turn * lead)];
      });
    }
  }
}

/**
 * Returns `of` with each frequency's answer worked out once: no knob changes it.
 *
 * @template T
 * @param {(frequency: number) => T} of
 * @returns {(frequency: number) => T}
 */
function remembered(of) {
  /** @type {Map<number, T>} */
  const known = new Map();
  return (frequency) => {
    const found = known.get(frequency);
    if (found !== undefined) return found;
    const answer = of(frequency);
    known.set(frequency, answer);
    return answer;
  };
}

/**
 * Returns real weights as pairs.
 *
 * @param {number[]} weights
 */
function paired(weights) {
  return weights.flatMap((weight) => [weight, 0]);
}

/**
 * Returns the weights of the coils for each feed: one feed of a source that does not tell the coils apart, or one for
 * each of `coils` that it tells apart.
 *
 * @param {{ outputs: number[], rule: RuleData }} voice
 * @param {number} coils
 * @returns {Weights}
 */
function weightsOf(voice, coils) {
  const { outputs } = voice;
  if (coils > 0) {
    const feeds = outputs.map((_, feed) => paired(outputs.map((output, coil) => (coil === feed ? output : 0))));
    return () => feeds;
  }
  return remembered((frequency) => [shares(voice.rule, frequency).map((share, i) => share * outputs[i >> 1])]);
}

/**
 * Returns where the knobs stand in the guitar's file.
 *
 * @param {SetData} set
 * @returns {Turned}
 */
function homeOf(set) {
  const { volume, tone, cable } = set.knobs;
  return { volume: volume?.turned, tone: tone?.turned, cable };
}

/**
 * Returns what the take of `set` was recorded through, or nothing.
 *
 * @param {SetData} set
 * @returns {Through | null}
 */
function throughOf({ recorded }) {
  return recorded && { heard: new Heard(recorded.circuit, weightsOf(recorded, 0)), ...recorded.bound };
}

/**
 * Returns a voice of `set` from its `data`, for a source with a channel for each of `coils`, or for one that does not tell
 * them apart (0).
 *
 * @param {SetData} set
 * @param {VoiceData} data
 * @param {Through | null} through
 * @param {number} coils
 * @returns {Voice}
 */
function voiceOf(set, data, through, coils) {
  if (data.circuit) return new CircuitVoice(set, data, data.circuit, through, coils);
  if (data.section) return new ResonanceVoice(data, data.section, coils);
  throw new Error(`${data.name} has neither a circuit nor a resonance`);
}

/**
 * Returns whether a voice is approximate, as is a split of a source that does not tell the coils apart.
 *
 * @param {VoiceData} voice
 * @param {number} coils
 */
function isApproximate(voice, coils) {
  return coils === 0 && voice.rule.kind === "split";
}

/**
 * The weights of the coils in the path in which a voice's character shows.
 *
 * @param {VoiceData} voice
 * @returns {Weights}
 */
function tellingOf(voice) {
  const weights = [paired(voice.telling)];
  return () => weights;
}

/** A voice as its whole circuit makes it. */
class CircuitVoice {
  /**
   * @param {SetData} set
   * @param {VoiceData} data
   * @param {CircuitData} circuit
   * @param {Through | null} recorded
   * @param {number} coils
   */
  constructor(set, data, circuit, recorded, coils) {
    this.data = data;
    this.circuit = circuit;
    this.recorded = recorded;
    this.knobs = set.knobs;
    this.isApproximate = isApproximate(data, coils);
    this.heard = new Heard(circuit, weightsOf(data, coils));
    this.drawn = new Heard(circuit, tellingOf(data));
    /** @type {Float64Array | null} */
    this.curveTables = null;
    /** @type {Float64Array | null} */
    this.lowTables = null;
  }

  /**
   * Returns the responses at the bins of `length` at `rate` with the knobs at `turned`, one array a feed.
   *
   * @param {number} rate
   * @param {number} length
   * @param {Turned} turned
   */
  spectra(rate, length, turned) {
    const [step, count] = [rate / length, length / 2 + 1];
    const outputs = Array.from({ length: this.heard.feeds }, () => new Float64Array(2 * count));
    const part = partsAt(this.circuit, this.knobs, turned);
    this.heard.attach(this.heard.tableOf(step, count), (k) => k * step, part, outputs);
    if (this.recorded) this.bound(this.recorded, outputs[0], step, count, part);
    return outputs;
  }

  /**
   * Makes a target's response the bounded ratio to that of the voice that the take was recorded through.
   *
   * @param {Through} recorded
   * @param {Pairs} target
   * @param {number} step
   * @param {number} count
   * @param {Admittances} part
   */
  bound({ heard, cap: most, order }, target, step, count, part) {
    const none = () => 0;
    const through = new Float64Array(2 * count);
    heard.attach(heard.tableOf(step, count), none, none, [through]);
    const [low, throughLow] = [new Float64Array(2), new Float64Array(2)];
    this.lowTables ??= this.heard.solved([LOW]);
    this.heard.attach(this.lowTables, () => LOW, part, [low]);
    heard.attach(heard.solved([LOW]), none, none, [throughLow]);
    const cap = most * Math.hypot(...low) / Math.hypot(...throughLow);
    for (let k = 0; k < count; k++) {
      const [tr, ti, rr, ri] = [target[2 * k], target[2 * k + 1], through[2 * k], through[2 * k + 1]];
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
   *
   * @param {number} rate
   * @param {Turned} turned
   */
  made(rate, turned) {
    /** @type {Pairs[]} */
    let spectra = [];
    const kernels = kernelsOf(rate, this.isApproximate, (length) => {
      const here = this.spectra(rate, length, turned);
      if (spectra.length === 0) spectra = here;
      return here;
    });
    return { kernels, spectra };
  }

  /**
   * Returns the circuit's magnitude along `CURVE` with the knobs at `turned`, as at the jack.
   *
   * @param {Turned} turned
   */
  curve(turned) {
    const output = new Float64Array(2 * CURVE.length);
    const part = partsAt(this.circuit, this.knobs, turned);
    this.curveTables ??= this.drawn.solved(CURVE);
    this.drawn.attach(this.curveTables, (k) => CURVE[k], part, [output]);
    return magnitudes(output);
  }
}

/** @param {Pairs} pairs */
function magnitudes(pairs) {
  return Array.from({ length: pairs.length / 2 }, (_, k) => Math.hypot(pairs[2 * k], pairs[2 * k + 1]));
}
