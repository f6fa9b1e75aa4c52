#!/bin/sh
# Makes the compressed files of this folder. The signal is drawn in whole numbers, so that the tests can draw it
# again to the last bit: a parabola over each half of a phase of 4096 steps, which goes on by 41 steps a frame in
# the left channel and by 61 in the right.
set -eu
cd "$(dirname "$0")"
work=$(mktemp -d)
trap 'rm -r "$work"' EXIT
python3 - "$work" <<'PYTHON'
import struct, sys, wave

def parabola(phase):
    x = phase % 4096 - 2048
    return x * (2048 - abs(x))          # within ±2^20

def write(name, frames, steps, width):
    with wave.open(f"{sys.argv[1]}/{name}", "wb") as w:
        w.setnchannels(len(steps)); w.setsampwidth(width); w.setframerate(44100)
        for n in range(frames):
            for step in steps:
                v = parabola(n * step)
                v = v // 64 if width == 2 else v * 7
                w.writeframesraw(struct.pack("<i", v)[:width])

write("stereo16.wav", 1000, (41, 61), 2)
write("stereo24.wav", 1000, (41, 61), 3)
write("mono16.wav", 4410, (41,), 2)
write("short16.wav", 100, (41,), 2)
PYTHON
export AV_LOG_FORCE_NOCOLOR=1
plain="-hide_banner -loglevel error -y"
bare="-map_metadata -1 -fflags +bitexact -flags:a +bitexact"
ffmpeg $plain -i "$work/stereo16.wav" $bare -c:a flac -frame_size 192 stereo16.flac
ffmpeg $plain -i "$work/stereo24.wav" $bare -c:a flac -sample_fmt s32 -bits_per_raw_sample 24 -frame_size 192 stereo24.flac
ffmpeg $plain -i "$work/stereo24.wav" $bare -c:a pcm_s24be stereo24.aiff
sox "$work/mono16.wav" -C 5 mono.ogg
ffmpeg $plain -i "$work/mono16.wav" $bare -c:a libmp3lame -b:a 128k mono.mp3
# What independent decoders make of the two lossy files.
sox -D mono.ogg -b 16 decoded-ogg.wav
ffmpeg $plain -i mono.mp3 $bare -c:a pcm_s16le decoded-mp3.wav
# The forms of WAV that other programs write.
sox "$work/short16.wav" -b 24 extensible24.wav
sox "$work/short16.wav" -b 32 -e floating-point float32.wav
sox "$work/short16.wav" -e a-law alaw.wav
raw="-t raw -r 44100 -b 16 -e signed-integer -c 1"
sox "$work/short16.wav" $raw - | sox $raw - -t wav - | cat > piped-sox.wav
ffmpeg $plain -i "$work/short16.wav" $bare -c:a pcm_f64le float64.wav
ffmpeg $plain -i "$work/short16.wav" $bare -c:a pcm_s32le -rf64 always wide.wav
ffmpeg $plain -i "$work/short16.wav" $bare -c:a pcm_s16le -f wav - | cat > piped-ffmpeg.wav
