// @ts-check
// The level of what comes in while it is recorded, as its largest sample.

import { the } from "./elements.js";

/** Returns a gain in decibels, for a person. @type {(gain: number) => string} */
export const decibels = (gain) => `${(20 * Math.log10(Math.max(gain, 1e-5))).toFixed(0).replace("-", "−")} dB`;

export class InputLevel {
  constructor() {
    /** The largest sample since the level was shown last. */
    this.largest = 0;
  }

  /** @param {Float32Array} samples */
  hear(samples) {
    for (const sample of samples) this.largest = Math.max(this.largest, Math.abs(sample));
  }

  /**
   * Shows the level, or none where nothing is recorded; returns the largest sample since it was shown last.
   *
   * @param {boolean} isRecording
   */
  show(isRecording) {
    const { largest } = this;
    this.largest = 0;
    the("input-level", HTMLMeterElement).value = isRecording ? 20 * Math.log10(Math.max(largest, 1e-3)) : -60;
    the("input-told", HTMLOutputElement).textContent = isRecording ? decibels(largest) : "";
    return largest;
  }
}
