// A voice by its resonance alone: each coil's share of the source, and after that one digital section.

class ResonanceVoice {
  /**
   * @param {VoiceData} data
   * @param {SectionData} section
   * @param {number} coils
   */
  constructor(data, section, coils) {
    const { shares } = section;
    /** @type {(pairs: number[], part: 0 | 1) => number} */
    const summed = (pairs, part) => pairs.reduce((sum, x, i) => (i % 2 === part ? sum + x * shares[i >> 1] : sum), 0);
    /** @type {(weights: Weights) => Weights} */
    const shared = (weights) => (frequency) => weights(frequency).map((pairs) => [summed(pairs, 0), summed(pairs, 1)]);
    this.data = data;
    this.isApproximate = isApproximate(data, coils);
    this.section = section;
    this.weights = shared(weightsOf(data, coils));
    this.telling = shared(tellingOf(data));
  }

  /**
   * Returns the kernels, without the section, and the responses with it at the bins of the shortest length.
   *
   * @param {number} rate
   */
  made(rate) {
    /** @type {(length: number) => number[]} */
    const bins = (length) => Array.from({ length: length / 2 + 1 }, (_, k) => k * rate / length);
    const kernels = kernelsOf(rate, this.isApproximate, (length) => responses(this.weights, bins(length), () => [1, 0]));
    return { kernels, spectra: responses(this.weights, bins(shortest(rate)), (f) => this.resonance(f)) };
  }

  curve() {
    return magnitudes(responses(this.telling, CURVE, (f) => this.resonance(f))[0]);
  }

  /**
   * Returns the section's response at `frequency`.
   *
   * @param {number} frequency
   * @returns {[re: number, im: number]}
   */
  resonance(frequency) {
    const { b, a, rate_hz: rate } = this.section;
    const turn = -2 * Math.PI * frequency / rate;
    /** @type {(coefficients: number[]) => number[]} */
    const at = ([c0, c1, c2]) => [
      c0 + c1 * Math.cos(turn) + c2 * Math.cos(2 * turn),
      c1 * Math.sin(turn) + c2 * Math.sin(2 * turn),
    ];
    const [[nr, ni], [dr, di]] = [at(b), at([1, ...a])];
    const power = dr * dr + di * di;
    return [(nr * dr + ni * di) / power, (ni * dr - nr * di) / power];
  }
}

/**
 * Returns weights times `after` at `frequencies`, one array a feed.
 *
 * @param {Weights} weights
 * @param {number[]} frequencies
 * @param {(frequency: number) => [re: number, im: number]} after
 * @returns {Pairs[]}
 */
function responses(weights, frequencies, after) {
  const feeds = weights(0).map(() => new Float64Array(2 * frequencies.length));
  frequencies.forEach((f, k) => {
    const [hr, hi] = after(f);
    weights(f).forEach(([wr, wi], feed) => {
      feeds[feed][2 * k] = hr * wr - hi * wi;
      feeds[feed][2 * k + 1] = hr * wi + hi * wr;
    });
  });
  return feeds;
}
