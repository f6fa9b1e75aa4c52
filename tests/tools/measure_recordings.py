"""Measures the recordings in tests/data with tools that are not ours, into tests/data/recordings.csv.

Run from the repository's root: python3 tests/tools/measure_recordings.py > tests/data/recordings.csv
Needs ffmpeg, sox, numpy, scipy and soundfile.
"""

import math
import re
import subprocess

import numpy
import scipy.signal
import soundfile

RECORDINGS = ["harmonics_mono.wav", "chord_stereo.wav"]
FRAME, HOP = 2048, 1024


def with_ffmpeg(path):
    """EBU R 128 integrated loudness and true peak: the last reading, with three decimals."""
    command = ["ffmpeg", "-hide_banner", "-nostats", "-i", path, "-f", "null", "-"]
    command[-3:-3] = ["-af", "ebur128=peak=true:metadata=1,ametadata=print:file=-"]
    said = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    yield "loudness_lufs", float(re.findall(r"lavfi\.r128\.I=(\S+)", said)[-1])
    peaks = [float(peak) for peak in re.findall(r"lavfi\.r128\.true_peak=(\S+)", said)]
    yield "true_peak_dbtp", 20 * math.log10(max(peaks))


def with_sox(path):
    """RMS and sample peak; a full-scale sine has -3.01, and channels are averaged as powers."""
    said = subprocess.run(["sox", path, "-n", "stats"], capture_output=True, text=True, check=True).stderr
    yield "rms_dbfs", float(re.search(r"RMS lev dB +(\S+)", said)[1])
    yield "sample_peak_dbfs", float(re.search(r"Pk lev dB +(\S+)", said)[1])


def with_scipy(path):
    """RMS and offset from the samples, and the spectral centroid by the definition that the program states."""
    sound, rate = soundfile.read(path, always_2d=True)
    yield "rms_dbfs", 10 * math.log10(numpy.mean(sound**2))
    yield "dc_offset", max(numpy.mean(sound, axis=0), key=abs)
    centroids = []
    for channel in sound.T:
        frequencies, _, spectra = scipy.signal.stft(
            channel, rate, window="hann", nperseg=FRAME, noverlap=FRAME - HOP, boundary=None, padded=False
        )
        magnitudes = numpy.abs(spectra)
        energies = numpy.sum(magnitudes**2, axis=0)
        heard = energies > 0
        frames = (frequencies @ magnitudes[:, heard]) / numpy.sum(magnitudes[:, heard], axis=0)
        centroids.append(numpy.sum(frames * energies[heard]) / numpy.sum(energies))
    yield "spectral_centroid_hz", numpy.mean(centroids)
    # One transform of the whole sound, cut at the exact edges. Only bands far wider than the bins of a running
    # measurement, and well above what leaks into them.
    powers = numpy.mean(numpy.abs(numpy.fft.rfft(sound, axis=0)) ** 2, axis=1) * 2 / len(sound) ** 2
    at = numpy.fft.rfftfreq(len(sound), 1 / rate)
    for band in range(-4, 14):
        centre = 1000 * 10 ** (band / 10)
        inside = (at >= centre * 10**-0.05) & (at < centre * 10**0.05)
        level = 10 * math.log10(numpy.sum(powers[inside]))
        if level > -60:
            yield f"third_octave_{band}_dbfs", level


print("file,measure,value,tool")
for name in RECORDINGS:
    for tool in (with_ffmpeg, with_sox, with_scipy):
        for measure, value in tool(f"tests/data/{name}"):
            print(f"{name},{measure},{value:.9g},{tool.__name__.removeprefix('with_')}")
