"""Runs the tools in turn and prints their medians. Arguments: the folder with source.wav, drywire, turns."""

import os
import shutil
import statistics
import subprocess
import sys
from pathlib import Path

from filters import FILTERS

HERE = Path(__file__).parent
ARRANGEMENTS = "series,parallel,split-a,split-b,series-reversed,parallel-reversed"

TOOLS = {
    "copying": "the bytes alone: the source copied twelve times by cp, one after the other",
    "drywire": "whole circuits, exact to 20 kHz; RMS, loudness, true peak, centroid of every file; matched by loudness",
    "sox": "second-order filters; RMS; matched by RMS from the rounded file; two processes at a time",
    "ffmpeg": "second-order filters; RMS, loudness, true peak; matched by loudness from the rounded file; two processes",
    "ffmpeg, centroids": "the same, and the centroid of every frame, with the other spectral figures where it cannot leave them out",
    "scipy": "second-order filters; RMS, loudness, true peak, centroid; matched by loudness; two processes, 20 s blocks",
}


def command(tool, place, program):
    source, out = str(place / "source.wav"), str(place / "out")
    python = sys.executable
    return {
        "copying": ["sh", "-c", f'for i in 1 2 3 4 5 6 7 8 9 10 11 12; do cp "{source}" "{out}/$i.wav"; done'],
        "drywire": [program, "hear", source, "--no-page", "--quiet", "--arrangements", ARRANGEMENTS, "--out", out],
        "sox": [python, str(HERE / "by_sox.py"), source, out],
        "ffmpeg": [python, str(HERE / "by_ffmpeg.py"), source, out],
        "ffmpeg, centroids": [python, str(HERE / "by_ffmpeg.py"), source, out, "centroids"],
        "scipy": [python, str(HERE / "by_scipy.py"), source, out],
    }[tool]


def run(tool, place, program):
    """Returns wall and CPU seconds, and the peak memory in MiB of the largest of the tool's processes."""
    out = place / "out"
    shutil.rmtree(out, ignore_errors=True)
    out.mkdir()
    start = os.times().elapsed
    child = subprocess.Popen(command(tool, place, program), stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    told = child.stderr.read()
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = status
    wall = os.times().elapsed - start
    files = len(list(out.rglob("*.wav")))
    if status != 0 or files != 2 * len(FILTERS):
        sys.exit(f"{tool} ended with {status} and {files} files\n{told.decode(errors='replace')[-2000:]}")
    return wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def main():
    place, program, turns = Path(sys.argv[1]), os.path.abspath(sys.argv[2]), int(sys.argv[3])
    found = {tool: [] for tool in TOOLS}
    for turn in range(turns):
        for tool in TOOLS:
            found[tool].append(run(tool, place, program))
            print(f"turn {turn + 1}, {tool}: {found[tool][-1][0]:.2f} s", file=sys.stderr)
    medians = {tool: [statistics.median(column) for column in zip(*runs)] for tool, runs in found.items()}
    wall, cpu, _ = medians["drywire"]
    print(f"{os.cpu_count()} cores, {os.path.getsize(place / 'source.wav') / 144000:.0f} s of sound, medians of {turns}")
    print("| | wall s | CPU s | peak MiB | wall, drywire = 1 | CPU, drywire = 1 |\n|---|---|---|---|---|---|")
    for tool, (own_wall, own_cpu, peak) in medians.items():
        ratios = f"{own_wall / wall:.2f} | {own_cpu / cpu:.2f}"
        print(f"| {tool} | {own_wall:.2f} | {own_cpu:.2f} | {peak:.0f} | {ratios} |")
    print()
    for tool, words in TOOLS.items():
        print(f"{tool}: {words}.")


main()
