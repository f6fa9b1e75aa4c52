// How high samples reach.

/**
 * Returns the largest magnitude among `samples`.
 *
 * @param {Float32Array | Float64Array} samples
 */
function largest(samples) {
  let most = 0;
  for (let i = 0; i < samples.length; i++) most = Math.max(most, Math.abs(samples[i]));
  return most;
}
