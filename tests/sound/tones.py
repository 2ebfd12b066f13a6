"""Makes the sounds that tests/sound.rs listens to, and the truth about them. Run by hand; its output is stored.

    python3 tests/sound/tones.py          # numpy 2.4.6, scipy 1.17.1, ffmpeg

Each sound is 24 s of one shaft whose speed is s(t), 1 at its usual speed: tones.csv holds s. Phases are integrals of the
frequencies (scipy.integrate), noise is white noise through filters (scipy.signal). Loudness goes with the speed squared.
Levels are those of the whole tone over the noise in the 100 Hz about it, at usual speed.
"""

import pathlib
import subprocess

import numpy as np
from scipy import integrate, interpolate, signal

HZ = 16000
SECONDS = 24
HERE = pathlib.Path(__file__).parent

t = np.arange(SECONDS * HZ) / HZ
keys = [(0, 0.62), (4, 0.62), (10, 1.0), (12, 1.0), (13, 0.93), (15, 1.0), (18, 1.0), (20, 1.04), (22, 1.04), (24, 0.99)]
speed = interpolate.PchipInterpolator(*np.array(keys, float).T)(t)
turns = integrate.cumulative_simpson(speed, dx=1 / HZ, initial=0)
rng = np.random.default_rng(7)


def wave(hz, phase=0.0):
    return np.sin(2 * np.pi * (hz * turns + phase)) * speed**2


def wind(cut_hz, order):
    """Noise below a frequency: the wind at a microphone."""
    return signal.sosfilt(signal.butter(order, cut_hz, fs=HZ, output="sos"), rng.standard_normal(t.size))


def at_level(noise, hz, tone_power, db):
    """The noise so loud that the tone is so many dB above what of it lies within 50 Hz of the tone."""
    f, density = signal.welch(noise, HZ, nperseg=HZ)
    near = (f > hz - 50) & (f < hz + 50)
    return noise * np.sqrt(tone_power / 10 ** (db / 10) / integrate.trapezoid(density[near], f[near]))


def write(name, sound, codec):
    sound = 0.5 * sound / np.quantile(np.abs(sound), 0.999)
    raw = np.clip(sound, -1, 1).astype("<f4").tobytes()
    head = ["ffmpeg", "-v", "error", "-y", "-f", "f32le", "-ar", str(HZ), "-ac", "1", "-i", "-"]
    subprocess.run([*head, *codec.split(), "-map_metadata", "-1", "-fflags", "+bitexact", HERE / name], input=raw, check=True)


# Twelve harmonics of 19 Hz, the lowest of which the microphone does not hear, in wind: each harmonic about 6 dB above it.
cut = signal.butter(2, 60, "highpass", fs=HZ, output="sos")
harmonics = [wave(19 * n, 0.11 * n * n) for n in range(1, 13)]
comb = sum(harmonics)
noise = at_level(wind(900, 2), 19 * 6, 0.5, 6)
write("harmonics_in_wind.m4a", signal.sosfilt(cut, comb + noise), "-c:a aac -b:a 40k")

# The same, clipped at a third of its peak.
loud = signal.sosfilt(cut, comb + 0.5 * noise)
third = np.abs(loud).max() / 3
write("clipped.mp3", np.clip(loud, -third, third), "-c:a libmp3lame -b:a 40k")

# A turbine's whine of 2200 Hz, 6 dB above broad noise, and nothing else.
whine = wave(2200)
write("whine_in_noise.opus", whine + at_level(wind(5000, 2), 2200, 0.5, 6), "-c:a libopus -b:a 32k")

# Wind and nothing else.
write("wind.m4a", wind(900, 2), "-c:a aac -b:a 40k")

every = HZ // 10
rows = [f"{a:.1f},{b:.6f}" for a, b in zip(t[::every], speed[::every])]
(HERE / "tones.csv").write_text("# Made by tones.py: the shaft's speed over time.\nseconds,speed\n" + "\n".join(rows) + "\n")
