"""The set by sox. Arguments: source, folder.

sox measures RMS and sample peak; it knows neither loudness, true peak nor centroid. It filters, measures and writes the
file at its true level in one pass; the matched file is that file with a gain. Two processes at a time.
"""

import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from filters import FILTERS

SOURCE, OUT = sys.argv[1], Path(sys.argv[2])


def filtered(name):
    """Writes the file at its true level and returns its RMS."""
    taps = [f"{c:.12g}" for c in FILTERS[name]]
    call = ["sox", "-D", SOURCE, "-b", "24", OUT / f"as-is-{name}.wav", "biquad", *taps, "stats"]
    told = subprocess.run(call, check=True, capture_output=True, text=True).stderr
    return float(re.search(r"RMS lev dB\s+(\S+)", told)[1])


def matched(name, gain_db):
    as_is, out = OUT / f"as-is-{name}.wav", OUT / f"matched-{name}.wav"
    subprocess.run(["sox", "-D", as_is, "-b", "24", out, "gain", f"{gain_db:.6f}"], check=True, capture_output=True)


with ThreadPoolExecutor(2) as pool:
    levels = dict(zip(FILTERS, pool.map(filtered, FILTERS)))
    list(pool.map(lambda name: matched(name, levels["series"] - levels[name]), FILTERS))
