"""The six second-order low-passes that stand for arrangements where a tool has no circuits.

R. Bristow-Johnson, *Cookbook formulae for audio EQ biquad filter coefficients*, "LPF", at 48 kHz.
"""

from math import cos, pi, sin

RATE = 48_000
# Name, resonance in Hz, Q, gain in dB: about what `drywire figures` says of the built-in guitar.
SHAPES = [
    ("series", 2900, 2.0, -6.0),
    ("parallel", 5400, 1.6, -12.0),
    ("split-a", 4100, 2.0, -12.0),
    ("split-b", 4000, 2.0, -12.0),
    ("series-reversed", 3100, 1.8, -18.0),
    ("parallel-reversed", 5600, 1.5, -24.0),
]


def low_pass(frequency, q, gain_db):
    """Returns b0, b1, b2, a0, a1, a2."""
    w = 2 * pi * frequency / RATE
    alpha, gain = sin(w) / (2 * q), 10 ** (gain_db / 20)
    b1 = gain * (1 - cos(w))
    return b1 / 2, b1, b1 / 2, 1 + alpha, -2 * cos(w), 1 - alpha


FILTERS = {name: low_pass(*shape) for name, *shape in SHAPES}
