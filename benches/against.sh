#!/usr/bin/env bash
# The same work by drywire and by general tools, in turn in one run on the same file; prints each one's wall time, CPU
# time and peak memory, medians of TURNS turns, and their ratios.
#
#   benches/against.sh [SECONDS_OF_SOUND [TURNS]]        600 and 5 unless given
#
# The work: six arrangements of a mono 48 kHz, 24-bit file, twelve 24-bit files (each at its true level and matched), in
# /dev/shm. What each tool does of it, and what not, is printed with the results and stands at the head of its script
# under benches/against/. PYTHON names a Python that has scipy, where `python3` has not.
set -euo pipefail
cd "$(dirname "$0")/.."

seconds="${1:-600}"
turns="${2:-5}"
python="${PYTHON:-python3}"

missing=""
command -v sox >/dev/null || missing="$missing sox (Debian: sox)"
command -v ffmpeg >/dev/null || missing="$missing ffmpeg (Debian: ffmpeg)"
"$python" -c "import scipy" 2>/dev/null || missing="$missing scipy (python3 -m venv V; V/bin/pip install scipy; PYTHON=V/bin/python)"
if [ -n "$missing" ]; then
    echo "missing:$missing" >&2
    exit 2
fi

program="${DRYWIRE:-}"
if [ -z "$program" ]; then
    cargo build --release --quiet
    program=target/release/drywire
fi

place="$(mktemp -d /dev/shm/against-XXXXXXXX)"
trap 'rm -rf "$place"' EXIT
sox -R samples-synthetic/phrase.wav -b 24 "$place/source.wav" repeat $((seconds / 6 + 1)) trim 0 "$seconds"
"$python" benches/against/turns.py "$place" "$program" "$turns"
