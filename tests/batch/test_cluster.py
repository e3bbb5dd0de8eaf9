"""Workers of a Dask scheduler: the same notes, recordings sent along, deaths, and workers that do not fit."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

pytest.importorskip("distributed")

from dictate import cli
from dictate.batch import cluster, remote
from dictate.batch.cluster import Cluster
from dictate.batch.values import Job, Message, Share
from dictate.batch.workers import WorkersError
from dictate.files import sha256_of
from dictate.settings import Settings
from tests.batch import fakes, remote_fakes
from tests.batch.runs import MAKING, Seen, notes_below, run, run_with, write_transcripts
from tests.batch.test_run import DEMO, piece

pytestmark = pytest.mark.filterwarnings("default")  # what Dask warns of is Dask's


@pytest.fixture(scope="module")
def crew() -> Iterator[Cluster]:
    """Two workers of a scheduler of their own."""
    with Cluster(
        "local", Settings(), making=MAKING, count=2, does=remote_fakes.does, looks=remote_fakes.fits
    ) as made:
        yield made


def test_a_cluster_makes_the_notes_of_one_process(tmp_path: Path, crew: Cluster) -> None:
    folder = tmp_path / "in"
    write_transcripts(folder, 2)
    # is shared in spans, and sent along once for all of them
    shutil.copy(DEMO / "after-lunch.flac", folder / "long elsewhere.flac")
    piece(folder / "a.wav", 5.0)
    piece(folder / "b elsewhere.wav", 5.0, at_s=6.0)  # is sent along
    piece(folder / "c dies-once.wav", 5.0, at_s=11.0)
    (folder / "d.wav").write_bytes(b"RIFF\0\0\0\0WAVEnonsense")
    os.utime(folder / "b elsewhere.wav", (1_500_000_000, 1_500_000_000))
    here = run(folder, tmp_path / "here")
    seen = Seen()
    (folder / "c dies-once.wav.died").unlink(missing_ok=True)
    there = run_with(crew, folder, tmp_path / "there", seen=seen)
    assert (folder / "c dies-once.wav.died").exists()
    assert [(f.path.name, f.reason) for f in there.failures] == [
        (f.path.name, f.reason) for f in here.failures
    ]
    assert notes_below(tmp_path / "there") == notes_below(tmp_path / "here") != {}
    assert len(there.lines) == 6


def test_a_recording_on_which_workers_die_again_and_again_is_given_up(tmp_path: Path, crew: Cluster) -> None:
    jobs = [
        Job(n, piece(tmp_path / name, 3.0), "sound", "")
        for n, name in enumerate(("dies-always.wav", "b.wav"))
    ]
    jobs = [Job(j.number, j.path, j.kind, sha256_of(j.path)) for j in jobs]
    messages: list[Message] = []
    for job in jobs:
        crew.give(job)
    until = time.monotonic() + 90
    while crew.at_work:
        if time.monotonic() > until:
            there = crew._client.scheduler_info(n_workers=-1)["workers"]
            given = [(f.key, f.status, g) for f, g in crew._futures.items()]
            pytest.fail(f"nothing more comes: {crew._good} of {list(there)}, {given}")
        messages += crew.wait(0.2)
    answers = {m.number: m for m in messages if not isinstance(m, Share)}
    assert "workers died on it" in getattr(answers[0], "reason", "")
    assert not hasattr(answers[1], "reason")


def test_deaths_on_spans_are_counted_as_by_processes_here(tmp_path: Path, crew: Cluster) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    shutil.copy(DEMO / "after-lunch.flac", folder / "dies-in-spans.flac")
    deaths = folder / "dies-in-spans.flac.deaths"
    here = run(folder, tmp_path / "here", workers=2, work=fakes.sharing)
    assert 3 <= len(deaths.read_text()) <= 4  # another may die while the third is told of
    deaths.unlink()
    there = run_with(crew, folder, tmp_path / "there")
    assert 3 <= len(deaths.read_text()) <= 4
    assert there.failures == here.failures != ()


def test_what_breaks_outside_the_work_is_the_reason_of_its_recording(tmp_path: Path, crew: Cluster) -> None:
    (tmp_path / "in").mkdir()
    piece(tmp_path / "in" / "a breaks-outside.wav", 3.0)
    piece(tmp_path / "in" / "b.wav", 3.0, at_s=4.0)
    result = run_with(crew, tmp_path / "in", tmp_path / "out")
    ((name, reason),) = [(f.path.name, f.reason) for f in result.failures]
    assert name == "a breaks-outside.wav"
    assert "broke down on it (ValueError at remote_fakes.py:" in reason
    assert "words" not in reason
    assert len(result.lines) == 1


def test_a_worker_that_would_make_other_notes_is_named_before_any_work() -> None:
    with pytest.raises(
        WorkersError, match=r"worker tcp://127\.0\.0\.1:\d+: has the lexicon another, not lexicon 1"
    ):
        Cluster(
            "local", Settings(), making=MAKING, count=1, does=remote_fakes.does, looks=remote_fakes.differs
        )


def test_what_is_wrong_with_a_worker_is_told_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(remote, "_here", lambda _: "no weights for base on this computer; get them")
    assert remote.looks(Settings(), MAKING) == "no weights for base on this computer; get them"
    monkeypatch.setattr(remote, "_here", lambda _: MAKING)
    assert remote.looks(Settings(), MAKING) == ""
    monkeypatch.setattr(remote, "_may_spill", lambda: True)
    assert "--memory-limit 0" in remote.looks(Settings(), MAKING)
    assert "cannot run dictate (No module" in cluster._no_dictate(
        ModuleNotFoundError("No module named 'dictate'")
    )


def test_without_a_scheduler_one_line_says_what_to_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(cluster, "_ANSWER_S", 0.5)
    piece(tmp_path / "a.wav", 1.0)
    monkeypatch.setattr("dictate.commands.batch.model_of", lambda _: "none is asked for")
    assert (
        cli.main(["batch", str(tmp_path), "--to", str(tmp_path / "out"), "--cluster", "tcp://127.0.0.1:9"])
        == 2
    )
    error = capsys.readouterr().err
    assert "tcp://127.0.0.1:9: no scheduler answers there; start one" in error
    assert error.count("\n") == 1
