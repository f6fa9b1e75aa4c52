"""The set by ffmpeg. Arguments: source, folder, and `centroids` to have these measured as well.

ffmpeg measures RMS, integrated loudness and true peak. Its spectral figures come frame by frame, and in older
versions all together; what `centroids` adds is the mean of the centroids. The source is read once for three arrangements, which are filtered, measured and written
at their true level in one pass; the matched files are those files with a gain. Two processes at a time.
"""

import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from filters import FILTERS

SOURCE, OUT, CENTROIDS = sys.argv[1], Path(sys.argv[2]), sys.argv[3:] == ["centroids"]
HELP = subprocess.run(["ffmpeg", "-hide_banner", "-h", "filter=aspectralstats"], capture_output=True, text=True).stdout
ONLY = ":measure=centroid" if "measure " in HELP else ""
CALL = ["ffmpeg", "-nostdin", "-hide_banner", "-nostats", "-y"]
WRITE = ["-c:a", "pcm_s24le"]
KEY = "lavfi.aspectralstats.1.centroid"


def chain(name, place):
    b0, b1, b2, a0, a1, a2 = FILTERS[name]
    taps = f"biquad=b0={b0}:b1={b1}:b2={b2}:a0={a0}:a1={a1}:a2={a2}"
    spectral = f",aspectralstats=win_size=2048:win_func=hann:overlap=0.5{ONLY},ametadata=print:key={KEY}:file={OUT / name}.txt"
    measures = "astats=measure_perchannel=RMS_level:measure_overall=none,ebur128=peak=true:framelog=verbose" + (spectral if CENTROIDS else "")
    return f"[p{place}]{taps},{measures}[o{place}]"


def filtered(names):
    """Writes files at their true level and returns their loudness."""
    split = f"[0:a]asplit={len(names)}" + "".join(f"[p{i}]" for i in range(len(names)))
    graph = ";".join([split, *(chain(name, i) for i, name in enumerate(names))])
    outputs = []
    for place, name in enumerate(names):
        outputs += ["-map", f"[o{place}]", "-ar", "48000", *WRITE, OUT / f"as-is-{name}.wav"]
    call = [*CALL, "-i", SOURCE, "-filter_complex", graph, *outputs]
    told = subprocess.run(call, check=True, capture_output=True, text=True).stderr
    # Chains tell in the order of the graph's destruction; a graph that was made before the source's form was known tells
    # of silence first.
    told = re.findall(r"Parsed_ebur128_(\d+).*?Integrated loudness:\s+I:\s+(\S+) LUFS", told, re.DOTALL)
    levels = {int(number): float(level) for number, level in told}
    assert len(levels) == len(names), told
    return [levels[number] for number in sorted(levels)]


def matched(name, gain_db):
    call = [*CALL, "-i", OUT / f"as-is-{name}.wav", "-af", f"volume={gain_db}dB", *WRITE, OUT / f"matched-{name}.wav"]
    subprocess.run(call, check=True, capture_output=True)
    if CENTROIDS:
        lines = (OUT / f"{name}.txt").read_text().splitlines()
        frames = [float(line.split("=")[1]) for line in lines if line.startswith(KEY)]
        print(name, sum(frames) / len(frames))


names = list(FILTERS)
halves = [names[:3], names[3:]]
with ThreadPoolExecutor(2) as pool:
    levels = dict(zip(names, sum(pool.map(filtered, halves), [])))
    list(pool.map(lambda name: matched(name, levels["series"] - levels[name]), names))
