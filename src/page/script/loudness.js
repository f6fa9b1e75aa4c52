// Integrated loudness by ITU-R BS.1770-5 and EBU R 128, as the program measures it: from the K-weighted mean square of each tenth
// of a second, in blocks of four of them, of which those count that pass an absolute gate, which stays where it is under a gain,
// and a relative one.

const LOUDNESS_OFFSET = -0.691;
const ABSOLUTE_GATE = -70;
const RELATIVE_GATE = 0.1;
const HOPS_A_BLOCK = 4;

/**
 * Returns the mean square of each block.
 *
 * @param {Float64Array} hops
 */
function blocksOf(hops) {
  return Float64Array.from({ length: Math.max(0, hops.length - HOPS_A_BLOCK + 1) },
    (_, i) => hops.subarray(i, i + HOPS_A_BLOCK).reduce((sum, hop) => sum + hop, 0) / HOPS_A_BLOCK);
}

/**
 * Returns the level without the gain, in LUFS, of the blocks that pass the gates with a gain in decibels; nothing where none does.
 *
 * @param {Float64Array} blocks
 * @param {number} gain
 */
function gatedLevel(blocks, gain) {
  /** @type {(threshold: number) => number | null} */
  const meanAbove = (threshold) => {
    const above = blocks.filter((power) => power > threshold);
    return above.length > 0 ? above.reduce((sum, power) => sum + power, 0) / above.length : null;
  };
  const absolute = 10 ** ((ABSOLUTE_GATE - LOUDNESS_OFFSET - gain) / 10);
  const first = meanAbove(absolute);
  const mean = first === null ? null : meanAbove(Math.max(absolute, RELATIVE_GATE * first));
  return mean === null ? null : LOUDNESS_OFFSET + 10 * Math.log10(mean);
}

/**
 * Returns the loudness of `hops` under a gain in decibels; nothing where it has none.
 *
 * @param {Float64Array} hops
 * @param {number} gain
 */
function loudnessOf(hops, gain) {
  const level = gatedLevel(blocksOf(hops), gain);
  return level === null ? null : level + gain;
}

/**
 * Returns the least gain in decibels after which `hops` have the loudness `target`; nothing where none gives it.
 *
 * @param {Float64Array} hops
 * @param {number} target
 */
function gainTo(hops, target) {
  const blocks = blocksOf(hops);
  const loudest = blocks.reduce((most, power) => Math.max(most, power), 0);
  if (loudest <= 0 || target <= ABSOLUTE_GATE) return null;
  // Begun where only the loudest block counts, a step never goes over the least gain.
  for (let level = LOUDNESS_OFFSET + 10 * Math.log10(loudest); ;) {
    const gain = target - level;
    const gated = gatedLevel(blocks, gain);
    if (gated === null) return null;
    if (gated >= level) return gain;
    level = gated;
  }
}
