// @ts-check
// The picture of a sound.

/** @typedef {{ planes: Float32Array[], lead: number, frames: number }} Shape */

/** The highest and lowest sample of each column of the picture. @type {{ of: Shape, ends: Float32Array } | null} */
let outline = null;

/**
 * Draws the first channel of a sound, and a mark at the frame `place`.
 *
 * @param {Element | null} wave
 * @param {Shape} sound
 * @param {number} place
 */
export function draw(wave, sound, place) {
  const context = wave instanceof HTMLCanvasElement ? wave.getContext("2d") : null;
  if (!(wave instanceof HTMLCanvasElement) || !context) return;
  const { width, height } = wave;
  if (outline?.of !== sound) {
    const ends = new Float32Array(2 * width);
    const plane = sound.planes[0];
    const high = plane.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0.01);
    for (let x = 0; x < width; x += 1) {
      const [from, to] = [x, x + 1].map((column) => Math.floor(sound.lead + column * sound.frames / width));
      for (let i = from; i < to; i += 1) {
        ends[2 * x] = Math.max(ends[2 * x], plane[i] / high);
        ends[2 * x + 1] = Math.min(ends[2 * x + 1], plane[i] / high);
      }
    }
    outline = { of: sound, ends };
  }
  const style = getComputedStyle(wave);
  context.clearRect(0, 0, width, height);
  context.fillStyle = style.getPropertyValue("color");
  for (let x = 0; x < width; x += 1) {
    const [top, bottom] = [outline.ends[2 * x], outline.ends[2 * x + 1]];
    context.fillRect(x, (1 - top) * height / 2, 1, Math.max(1, (top - bottom) * height / 2));
  }
  context.fillStyle = style.getPropertyValue("outline-color");
  context.fillRect(Math.min(width - 3, place / sound.frames * width), 0, 3, height);
}
