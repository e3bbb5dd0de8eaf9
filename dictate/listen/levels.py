"""Whether what a microphone gives can be worked with, and what to do where it can't. Pure.

Levels are in dB re full scale: 0 dB is a mean square of 1, a full-scale sine has -3 dB.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

SAMPLE_RATE = 16000
_NONE_DB = -120.0
_STEP = 1 / 32768

# A switched-off input gives zeros, some drivers dither them by one step. The quietest real microphone
# moves more: noise of -85 dB has peaks of 6 steps within 2 s.
_DEAD_STEPS = 1.5
# Of 37 breath groups of audio_demo, turned down and rounded to 16 bits, all are found down to -60 dB, their
# edges within 10 ms; at -65 the first falls out. 10 dB more for a head that turns away or leans back.
_QUIET_DB = -50.0
# Speech at a sane level touches full scale with a sample now and then (audio_demo/tank-room.flac: 1 of
# 640,000). Cut-off peaks are runs of samples there: one of 0.1 ms in a second of speech makes 1 in 10,000.
_FULL = 1 - 1.5 * _STEP
_CLIPPED_SHARE = 1e-4
# The cutter takes what is within 10 dB of the near talker for the near talker (`audio.speech`, _SURE_DB).
# Noise is measured inside the speech too, for a short try has no pause and babble fills those there are: over
# the quietest tenth of 0.1 s frames the loudest three tenths are 13.8, 14.8 and 17.2 dB where audio_demo's
# voices are 10 dB above white and pink noise and babble (medians of 2 s); 17.3 at the least where they are
# 20 dB above, 23 in quiet.
_FRAME = SAMPLE_RATE // 10
_SPREAD_DB = 14.0
# A line of the mains is so narrow that a spectrum with bins of 2 Hz has it 15 dB above its neighbours as soon
# as it holds as much power as 60 Hz of the noise around it. In noise a bin is that far up by chance with
# exp(-10^1.5), 1e-14.
_LINE_DB = 15.0
_LINES = 2  # a single line may be a fridge or a bell; the mains have harmonics
_HUM_ORDERS = (1, 2, 3, 4)
# Far below speech hum is harmless: voices are above 80 Hz, and 30 dB is what a quiet office leaves.
_HUM_BELOW_SPEECH_DB = 30.0
_HUM_DB = -60.0  # the same where nobody spoke, for speech at -30 dB
_LEAST_NOISE_S = 0.5  # of noise without speech, for bins of 2 Hz
_EDGE_S = 0.1  # beside a breath group, not taken for noise: its room's echo


@dataclass(frozen=True, slots=True)
class Remark:
    """What is wrong with a level: `kind` is "dead", "no_speech", "quiet", "clipped", "hum" or "noisy"; `text`
    is one line that says what to do.
    """

    kind: str
    text: str


def running_level_db(samples: NDArray[np.float32] | NDArray[np.int16]) -> float:
    """The level of a block, shape (n,), floats of -1 to 1 or int16: dB re full scale; -120 for silence."""
    if not len(samples):
        return _NONE_DB
    power = float(np.mean(np.square(samples, dtype=np.float64)))
    if samples.dtype == np.int16:
        power *= _STEP**2
    return max(_NONE_DB, 10 * float(np.log10(power + 1e-12)))


def check_level(samples: NDArray[np.float32]) -> tuple[Remark, ...]:
    """What is wrong with some seconds of noise and speech, shape (n,), mono, 16 kHz, -1 to 1; empty where all
    is well. 2 s with a word are enough, and a pause of 0.7 s for hum.
    """
    if dead := is_dead(samples):
        return (dead,)
    centred = np.asarray(samples - samples.mean(), np.float32)
    speech, noise = _parted(centred)
    remarks = [_clipped(samples), *_loudness(centred, speech), _hum(speech, noise)]
    return tuple(remark for remark in remarks if remark is not None)


def is_dead(samples: NDArray[np.float32]) -> Remark | None:
    """What to do where a microphone gives nothing, not even its own noise; shape (n,), -1 to 1."""
    if len(samples) and np.ptp(samples) > 2 * _DEAD_STEPS * _STEP:
        return None
    text = (
        "the microphone gives no sound at all; switch it on (mute key, the system's input level, privacy "
        "settings), or choose another with --device"
    )
    return Remark("dead", text)


def check_speech(speech: NDArray[np.float32]) -> Remark | None:
    """What is wrong with a breath group by itself, shape (n,), 16 kHz, -1 to 1: cut off, or too quiet."""
    centred = np.asarray(speech - speech.mean(), np.float32) if len(speech) else speech
    return _clipped(speech) or _quiet(centred)


def _parted(samples: NDArray[np.float32]) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Speech, and what is neither speech nor right beside it."""
    from dictate.audio import find_speech  # what tells voices from noise takes its time to import

    spoken = np.zeros(len(samples), np.bool_)
    beside = np.zeros(len(samples), np.bool_)
    for stretch in find_speech(samples):
        first, last = round(stretch.start_s * SAMPLE_RATE), round(stretch.end_s * SAMPLE_RATE)
        spoken[first:last] = True
        beside[max(0, first - round(_EDGE_S * SAMPLE_RATE)) : last + round(_EDGE_S * SAMPLE_RATE)] = True
    return samples[spoken], samples[~beside]


def _clipped(samples: NDArray[np.float32]) -> Remark | None:
    full = np.abs(samples) >= _FULL
    runs = full[1:] & full[:-1]  # a lone sample at full scale is no cut-off peak
    if runs.sum() <= _CLIPPED_SHARE * len(samples):
        return None
    text = (
        f"too loud: {runs.mean():.2%} of the sound is cut off at the top; turn the input level down, or move "
        "away from the microphone"
    )
    return Remark("clipped", text)


def _loudness(samples: NDArray[np.float32], speech: NDArray[np.float32]) -> list[Remark]:
    """Of the voice by itself, and above the noise."""
    if not len(speech):
        text = (
            "nobody was heard to speak; say something from where you will sit; if you did, turn the input "
            "level up, or choose another microphone with --device"
        )
        return [Remark("no_speech", text)]
    quiet = _quiet(speech)
    found = [quiet] if quiet else []
    if _spread_db(samples) < _SPREAD_DB:
        text = (
            "noisy: your voice hardly stands out of the room; come nearer to the microphone, use one you "
            "wear, or sit farther from the noise"
        )
        found.append(Remark("noisy", text))
    return found


def _quiet(speech: NDArray[np.float32]) -> Remark | None:
    level = running_level_db(speech)
    if level >= _QUIET_DB:
        return None
    text = (
        f"too quiet: your voice has {level:.0f} dB of full scale; come nearer, or turn the input level "
        f"up (to {_QUIET_DB:.0f} dB at least)"
    )
    return Remark("quiet", text)


def _spread_db(samples: NDArray[np.float32]) -> float:
    """The loudest three tenths of the frames over the quietest tenth."""
    frames = samples[: len(samples) // _FRAME * _FRAME].reshape(-1, _FRAME)
    powers = np.sort(np.mean(np.square(frames, dtype=np.float64), axis=1)) + 1e-12
    tenth = max(1, len(powers) // 10)
    return 10 * float(np.log10(powers[-3 * tenth :].mean() / powers[:tenth].mean()))


def _hum(speech: NDArray[np.float32], noise: NDArray[np.float32]) -> Remark | None:
    if len(noise) < _LEAST_NOISE_S * SAMPLE_RATE:
        return None
    limit = running_level_db(speech) - _HUM_BELOW_SPEECH_DB if len(speech) else _HUM_DB
    spectrum = _spectrum(noise)
    for mains in (50, 60):
        powers = [_line(spectrum, mains * order) for order in _HUM_ORDERS]
        lines = [power for power in powers if power > 0]
        if len(lines) >= _LINES and 10 * np.log10(sum(lines)) > limit:
            text = (
                f"mains hum of {mains} Hz; move cable and microphone off power supplies, run the laptop "
                "on its battery, or use another cable or socket"
            )
            return Remark("hum", text)
    return None


_WINDOW = SAMPLE_RATE // 2


def _spectrum(noise: NDArray[np.float32]) -> NDArray[np.float64]:
    """Power by bins of 2 Hz, their sum the mean square: the mean over half-second Hann windows that overlap
    by half (Welch, IEEE Trans. Audio 15: 70, 1967).
    """
    starts = range(0, len(noise) - _WINDOW + 1, _WINDOW // 2)
    window = np.hanning(_WINDOW)
    powers = [np.abs(np.fft.rfft(noise[s : s + _WINDOW] * window)) ** 2 for s in starts]
    return np.asarray(np.mean(powers, axis=0) * 2 / (_WINDOW * np.sum(window**2)))


def _line(spectrum: NDArray[np.float64], hertz: int) -> float:
    """The power of a line, if it stands out of its neighbours; else 0."""
    middle = hertz // 2
    line = spectrum[middle - 2 : middle + 3]  # a Hann window's peak is four bins wide
    if line.argmax() != 2:  # a note nearby: the mains keep to 0.2 Hz, their fourth harmonic to 0.8
        return 0.0
    below, above = spectrum[max(2, middle - 11) : middle - 3], spectrum[middle + 4 : middle + 12]
    around = float(np.median(np.concatenate((below, above)))) / np.log(2)  # of an exponential: median to mean
    return float(line.sum()) if line.max() > around * 10 ** (_LINE_DB / 10) else 0.0
