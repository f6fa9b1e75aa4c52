"""The set by numpy and scipy. Arguments: source, folder.

Everything is measured: RMS, integrated loudness by BS.1770 with its gates, true peak at four times the rate, and the
centroid, magnitude-weighted in frames of 2048 weighted by their energy. Blocks of 20 s, so that memory does not grow
with the file; two passes, the second filters again; two processes.
"""

import sys
from multiprocessing import Pool
from pathlib import Path

import numpy as np
from scipy.signal import get_window, lfilter, resample_poly

from filters import FILTERS, RATE

SOURCE, OUT = sys.argv[1], Path(sys.argv[2])
BLOCK, FRAME, HOP = 20 * RATE, 2048, 1024
# ITU-R BS.1770-5, annex 1, tables 1 and 2.
SHELF = ([1.53512485958697, -2.69169618940638, 1.19839281085285], [1, -1.69065929318241, 0.73248077421585])
HIGH_PASS = ([1.0, -2.0, 1.0], [1, -1.99004745483398, 0.99007225036621])


def blocks():
    """Reads the 24-bit samples behind the `data` chunk's head."""
    with open(SOURCE, "rb") as file:
        head = file.read(4096)
        file.seek(head.index(b"data") + 8)
        while raw := file.read(3 * BLOCK):
            words = np.zeros((len(raw) // 3, 4), np.uint8)
            words[:, 1:] = np.frombuffer(raw, np.uint8)[: 3 * len(words)].reshape(-1, 3)
            yield words.view("<i4").ravel() / 2.0**31


def filtered(name):
    b, a, state = FILTERS[name][:3], FILTERS[name][3:], np.zeros(2)
    for block in blocks():
        out, state = lfilter(b, a, block, zi=state)
        yield out


def measured(name):
    square, count, peak, weighted, energy = 0.0, 0, 0.0, 0.0, 0.0
    states, tail, left, tenths = [np.zeros(2), np.zeros(2)], np.zeros(64), np.zeros(0), []
    rest, window, bins = np.zeros(0), get_window("hann", FRAME), np.arange(FRAME // 2 + 1)
    for x in filtered(name):
        square, count = square + x @ x, count + len(x)
        peak = max(peak, np.abs(resample_poly(np.concatenate([tail, x]), 4, 1)).max())
        tail = x[-64:]
        k, states[0] = lfilter(*SHELF, x, zi=states[0])
        k, states[1] = lfilter(*HIGH_PASS, k, zi=states[1])
        k = np.concatenate([left, k])
        whole = len(k) // (RATE // 10) * (RATE // 10)
        tenths.append(np.square(k[:whole]).reshape(-1, RATE // 10).mean(1))
        left = k[whole:]
        rest = np.concatenate([rest, x])
        frames = np.lib.stride_tricks.sliding_window_view(rest, FRAME)[::HOP]
        magnitudes = np.abs(np.fft.rfft(frames * window))
        own = np.square(magnitudes).sum(1)
        sums = magnitudes.sum(1)
        weighted += (own * (magnitudes @ bins) / np.where(sums > 0, sums, 1)).sum()
        energy += own.sum()
        rest = rest[len(frames) * HOP :]
    tenths = np.concatenate(tenths)
    powers = np.convolve(tenths, np.ones(4) / 4, "valid")
    level = lambda p: -0.691 + 10 * np.log10(p)
    gated = powers[level(powers) > -70]
    loudness = level(gated[level(gated) > level(gated.mean()) - 10].mean())
    return 10 * np.log10(square / count), loudness, 20 * np.log10(peak), weighted / energy * RATE / FRAME


def written(task):
    name, gains = task
    files = [open(OUT / f"{kind}-{name}.wav", "wb") for kind in gains]
    size = sum(map(len, blocks())) * 3
    for file in files:
        number = lambda n, width=4: int(n).to_bytes(width, "little")
        form = number(1, 2) + number(1, 2) + number(RATE) + number(3 * RATE) + number(3, 2) + number(24, 2)
        file.write(b"RIFF" + number(36 + size) + b"WAVEfmt " + number(16) + form + b"data" + number(size))
    for x in filtered(name):
        for file, gain_db in zip(files, gains.values()):
            steps = np.rint(x * (10 ** (gain_db / 20) * 2**23)).clip(-(2**23), 2**23 - 1).astype("<i4")
            file.write(steps.view(np.uint8).reshape(-1, 4)[:, :3].tobytes())
    for file in files:
        file.close()


if __name__ == "__main__":
    with Pool(2) as pool:
        found = dict(zip(FILTERS, pool.map(measured, FILTERS, chunksize=1)))
        target = found["series"][1]
        pool.map(written, [(n, {"matched": target - m[1], "as-is": 0.0}) for n, m in found.items()], chunksize=1)
