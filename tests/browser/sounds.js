// Sound files for the test, as bytes.

/** Returns a WAV file of 16 bits: `samples` of one channel after the other in each frame. */
export function pcm16(rate, channels, samples) {
  const bytes = Buffer.alloc(44 + 2 * samples.length);
  bytes.write("RIFF", 0);
  bytes.writeUInt32LE(bytes.length - 8, 4);
  bytes.write("WAVEfmt ", 8);
  bytes.writeUInt32LE(16, 16);
  bytes.writeUInt16LE(1, 20);
  bytes.writeUInt16LE(channels, 22);
  bytes.writeUInt32LE(rate, 24);
  bytes.writeUInt32LE(2 * rate * channels, 28);
  bytes.writeUInt16LE(2 * channels, 32);
  bytes.writeUInt16LE(16, 34);
  bytes.write("data", 36);
  bytes.writeUInt32LE(bytes.length - 44, 40);
  new Int16Array(bytes.buffer, bytes.byteOffset + 44, samples.length).set(samples);
  return bytes;
}

/** Returns a WAV file of 16 bits: `seconds` of a decaying chord at `rate` in `channels` that differ. */
export function wave(rate, channels, seconds) {
  const frames = rate * seconds;
  const samples = new Int16Array(frames * channels);
  for (let channel = 0; channel < channels; channel++) {
    const turns = [110, 165, 220, 1760].map((f) => 2 * Math.PI * f * (1 + 0.001 * channel) / rate);
    for (let i = 0; i < frames; i++) {
      let tone = 0;
      for (let n = 0; n < turns.length; n++) tone += Math.sin(turns[n] * i) / (n + 1);
      samples[i * channels + channel] = Math.round(32767 * 0.25 * tone * Math.exp(-(i / rate % 2)));
    }
  }
  return pcm16(rate, channels, samples);
}

/** Returns a WAV file of one channel of 32-bit floats at 48 kHz. */
export function floats(samples) {
  const bytes = Buffer.alloc(44 + 4 * samples.length);
  bytes.write("RIFF", 0);
  bytes.writeUInt32LE(bytes.length - 8, 4);
  bytes.write("WAVEfmt ", 8);
  bytes.writeUInt32LE(16, 16);
  bytes.writeUInt16LE(3, 20);
  bytes.writeUInt16LE(1, 22);
  bytes.writeUInt32LE(48000, 24);
  bytes.writeUInt32LE(4 * 48000, 28);
  bytes.writeUInt16LE(4, 32);
  bytes.writeUInt16LE(32, 34);
  bytes.write("data", 36);
  bytes.writeUInt32LE(4 * samples.length, 40);
  samples.forEach((sample, i) => bytes.writeFloatLE(sample, 44 + 4 * i));
  return bytes;
}
