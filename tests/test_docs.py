"""The documents: the printed example is what comes out, and nothing is left untold."""

from __future__ import annotations

import argparse
import json
import re
import tomllib
from pathlib import Path

import pytest

from dictate import __version__, cli
from tests.test_house import HOUSE, ROOMS

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def block(language: str) -> str:
    """The first block of a language in README.md."""
    found = re.search(rf"```{language}\n(.*?)```", README, flags=re.DOTALL)
    assert found, f"README.md has no {language} block"
    return found.group(1)


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The README's transcript in an empty folder, which is the working folder."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bench.vtt").write_text(block("vtt"), encoding="utf-8")
    return tmp_path


def test_the_printed_example_is_what_the_command_prints(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["note", "bench.vtt"]) == 0
    assert capsys.readouterr().out == block("text")
    assert {p.name for p in (bench / "notes").iterdir()} == {
        "01-tin-whistle-riesling-clare-valley-2022.json",
        "01-tin-whistle-riesling-clare-valley-2022.md",
    }


def test_the_printed_json_is_what_is_written(bench: Path) -> None:
    cli.main(["note", "bench.vtt"])
    (written,) = (bench / "notes").glob("*.json")
    note = json.loads(written.read_text(encoding="utf-8"))
    assert note["palate"]["acidity"] == json.loads(block("json"))


def test_every_option_is_in_the_readme() -> None:
    parser = cli._parser()
    commands = next(a for a in parser._actions if isinstance(a, argparse._SubParsersAction)).choices
    for name, command in commands.items():
        assert f"dictate {name}" in README
        options = [o for a in command._actions for o in a.option_strings if o.startswith("--")]
        assert [o for o in options if o not in README and o != "--help"] == []


def test_the_readme_opens_with_the_job_and_then_the_two_commands() -> None:
    heading, job, commands, code = README.split("\n\n")[:4]
    assert heading.startswith("# ")
    assert "note" in job
    assert commands.startswith("Two commands")
    assert re.findall(r"^make (\w+)", code, flags=re.MULTILINE) == ["demo", "test"]


def test_every_make_target_is_documented_and_every_documented_one_exists() -> None:
    targets = set(re.findall(r"^([a-z]+):", (ROOT / "Makefile").read_text(), flags=re.MULTILINE))
    told = set(re.findall(r"`make ([a-z]+)[^`]*`", DEVELOPERS))
    assert told == targets


def test_every_room_is_documented() -> None:
    folders = [p.name for p in HOUSE.iterdir() if (p / "__init__.py").exists()]
    assert set(ROOMS) <= set(folders)
    assert [f for f in folders if f"`{f}/`" not in DEVELOPERS] == []


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_files_named_in_the_documents_exist(text: str) -> None:
    """Paths in backquotes with a known ending; those a run makes begin with notes/ or out/."""
    named = set(re.findall(r"`([\w./-]+\.(?:py|md|toml|json|txt|yaml))`", text))
    places = [ROOT, HOUSE, HOUSE / "lexicon" / "rules"]
    missing = [n for n in named if not n.startswith(("notes/", "out/"))]
    assert [n for n in missing if not any((place / n).exists() for place in places)] == []


def test_the_changelog_s_newest_version_is_the_program_s() -> None:
    newest = re.search(r"^## (\S+?),? ", (ROOT / "CHANGELOG.md").read_text(), flags=re.MULTILINE)
    assert newest
    assert newest.group(1) == __version__


def test_each_dependency_is_pinned_and_says_why() -> None:
    extras = PROJECT["project"]["optional-dependencies"].values()
    wanted = PROJECT["project"]["dependencies"] + [name for extra in extras for name in extra]
    assert [w for w in wanted if not re.fullmatch(r"[\w-]+==[\w.]+", w)] == []
    lines = (ROOT / "pyproject.toml").read_text().splitlines()
    for dependency in PROJECT["project"]["dependencies"]:
        assert any(f'"{dependency}",' in line and "# " in line for line in lines), dependency
    pinned = {
        re.sub(r"[-_.]+", "-", line.lower()) for line in (ROOT / "constraints.txt").read_text().splitlines()
    }
    assert [w for w in wanted if re.sub(r"[-_.]+", "-", w.lower()) not in pinned] == []
