// A voice by kernels that were worked out elsewhere and come as floats: what a page whose circuits are not its own gives
// its engine, by `new Engine(set, suppliedBy(source))`. The listening page does without.

/**
 * Returns voices whose kernels and curves `source` has.
 *
 * @param {KernelSource} source
 * @returns {VoiceSource}
 */
function suppliedBy(source) {
  return (index, coils) => ({
    async made(rate, turned) {
      const kernels = await source.kernels({ index, coils, rate, turned });
      return { kernels, spectra: kernels.feeds.map((taps) => spectrumOf(taps, shortest(rate))) };
    },
    curve: (turned) => source.curve({ index, turned }),
  });
}

/**
 * Returns the response of `taps` at the bins of `length`, as pairs. More taps than that are summed at its intervals, which
 * changes nothing at its bins.
 *
 * @param {Float32Array | Float64Array} taps
 * @param {number} length
 * @returns {Pairs}
 */
function spectrumOf(taps, length) {
  const [re, im] = [new Float64Array(length), new Float64Array(length)];
  taps.forEach((tap, n) => { re[n % length] += tap; });
  transform(re, im, -1);
  return Float64Array.from({ length: length + 2 }, (_, i) => (i % 2 === 0 ? re : im)[i >> 1]);
}
