"""Amplifies takes apart from the program, and tells their loudness: what is left of a drop, and what a gate makes of it.

    drywire hear open-chord --guitar tests/data/amplifier-guitar.toml --arrangements series,parallel --bits 32f --no-page --out jack
    drywire hear open-chord --guitar tests/data/amplifier-guitar.toml --arrangements series,parallel --bits 32f --no-page --amp driven --out driven
    python3 tests/tools/amplify_apart.py jack driven -12

Needs NumPy and SciPy. The takes at the jack are the program's, whose circuit is held to a simulator elsewhere. All else is worked out
here: the triode's load line by Brent's method and a spline, the rate raised eightfold by a Fourier transform, the loudspeaker as a
product of spectra, loudness by the sections of BS.1770 for 48 kHz.
"""

import pathlib
import struct
import sys

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq
from scipy.signal import lfilter, resample

RATE = 48_000
CLIP_POINT = 0.69961
# The valve's, its grid's diode's and its surroundings' values.
MU, EX, KG1, KP, KVB = 100, 1.4, 1060, 600, 300
SATURATION, THERMAL, GRID = 1e-9, 0.025865, 2e3
SUPPLY, ANODE, CATHODE, SOURCE = 250, 100e3, 1.5e3, 68e3
REACH, CUT_OFF = 14, 10 ** (6 / 20)


def read(path):
    data = pathlib.Path(path).read_bytes()
    at = data.index(b"data")
    (length,) = struct.unpack("<I", data[at + 4 : at + 8])
    return np.frombuffer(data[at + 8 : at + 8 + length], "<f4").astype(float)


def current(anode, grid):
    return 2 * (anode / KP * np.logaddexp(0, KP * (1 / MU + grid / np.sqrt(KVB + anode * anode)))) ** EX / KG1


def anode_voltage(bias, grid):
    return brentq(lambda v: (SUPPLY - bias - v) / ANODE - current(v, grid), 1e-9, SUPPLY - bias, xtol=1e-13)


def grid_voltage(opened):
    diode = lambda v: SATURATION * np.expm1(v / THERMAL)
    v = brentq(lambda v: opened - (SOURCE + GRID) * diode(v) - v, min(opened, 0) - 1, min(max(opened, 0) + 1, 1), xtol=1e-14)
    return v + GRID * diode(v)


def triode():
    bias = brentq(lambda b: current(anode_voltage(b, -b), -b) * CATHODE - b, 1e-6, 50)
    at = lambda u: anode_voltage(bias, grid_voltage(u - bias))
    gain = (at(1e-4) - at(-1e-4)) / 2e-4
    inputs = np.linspace(-REACH, REACH, 20_001)
    outputs = np.array([(at(u) - at(0)) / gain for u in inputs])
    scale = CUT_OFF / -outputs[0]
    spline = CubicSpline(inputs * scale, outputs * scale)
    end = REACH * scale

    def curve(u):
        inside = np.clip(u, -end, end)
        return spline(inside) + (u - inside) * spline(np.sign(u) * end, 1)

    return curve


def coupled(samples, rate):
    k = np.tan(np.pi * 7.23 / rate)
    return lfilter([1 / (1 + k), -1 / (1 + k)], [1, -(1 - k) / (1 + k)], samples)


def loudspeaker(frequency):
    box, up, fall = (1j * frequency / f for f in (75 * np.sqrt(2.5), 2500, 5000))
    rise = 10 ** (6 / 40)
    bell = (up * up + up * rise / 1.2 + 1) / (up * up + up / (rise * 1.2) + 1)
    pairs = [fall * fall + 2 * np.sin(k * np.pi / 8) * fall + 1 for k in (1, 3)]
    return box * box / (box * box + box / (0.6 * np.sqrt(2.5)) + 1) * bell / (pairs[0] * pairs[1])


def amplified(take, gain, curve):
    padded = np.concatenate([np.zeros(RATE // 2), gain * take, np.zeros(RATE)])
    high = resample(padded, 8 * len(padded))
    high = np.tanh(coupled(curve(coupled(high, 8 * RATE)), 8 * RATE))
    spectrum = np.fft.rfft(resample(high, len(padded)))
    heard = np.fft.irfft(spectrum * loudspeaker(np.fft.rfftfreq(len(padded), 1 / RATE)), len(padded))
    return heard[RATE // 2 :][: len(take)]


def blocks(take):
    shelf = lfilter([1.53512485958697, -2.69169618940638, 1.19839281085285], [1, -1.69065929318241, 0.73248077421585], take)
    weighted = lfilter([1, -2, 1], [1, -1.99004745483398, 0.99007225036621], shelf)
    count = len(weighted) // (RATE // 10)
    hops = (weighted[: count * (RATE // 10)] ** 2).reshape(count, -1).mean(1)
    return np.array([hops[i : i + 4].mean() for i in range(count - 3)])


def level(power):
    return -0.691 + 10 * np.log10(power)


def loudness(own, gain):
    """The loudness under a gain in dB, the blocks that count, all above the absolute gate, and the relative gate."""
    heard = own * 10 ** (gain / 10)
    above = heard[level(heard) > -70]
    gate = level(above.mean()) - 10
    kept = above[level(above) > gate]
    return level(kept.mean()), len(kept), len(above), gate


def main():
    jack, behind, headroom = sys.argv[1], sys.argv[2], float(sys.argv[3])
    takes = [read(f"{jack}/as-is/{name}.wav") for name in ("series", "parallel")]
    files = [read(f"{behind}/as-is/{name}.wav") for name in ("series", "parallel")]
    windows = takes[0][: len(takes[0]) // 2400 * 2400].reshape(-1, 2400)
    loudest = np.sqrt(2 * (windows**2).mean(1).max())
    curve = triode()
    heard = [amplified(take, CLIP_POINT * 10 ** (-headroom / 20) / loudest, curve) for take in takes]
    gain = files[0] @ heard[0] / (heard[0] @ heard[0])
    for name, own, file in zip(("series", "parallel"), heard, files):
        off = ((file - gain * own) ** 2).sum() / (file**2).sum()
        print(f"{name}: the file is {10 * np.log10(off):.1f} dB from this")
    own, level_db = [blocks(take) for take in heard], 20 * np.log10(gain)
    for words, at in (("before any gain", 0), ("at the files' level", level_db)):
        told = [loudness(take, at) for take in own]
        print(f"{words}: {told[1][0] - told[0][0]:.3f} LU")
        for take, (_, kept, above, gate) in zip(own, told):
            nearest = min(level(take) + at - gate, key=abs)
            print(f"  {kept} of {above} blocks count; the one nearest to the relative gate is {nearest:+.3f} dB from it")
    kept = loudness(own[1], level_db)[1]
    more = level(np.sort(own[1])[::-1][: kept + 1].mean()) + level_db - loudness(own[0], level_db)[0]
    print(f"with one block more of parallel: {more:.3f} LU")


main()
