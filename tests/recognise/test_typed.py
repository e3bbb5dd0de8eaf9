"""Timed transcripts: files modelled on each example of the W3C's WebVTT (introduction and section 4)
with words of our own, SubRip in its usual spellings, broken files, and generated ones.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dictate.audio import SourceError
from dictate.recognise import read_transcript
from dictate.values import Heard


def read(folder: Path, text: str | bytes, *, name: str = "a.vtt") -> Heard:
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_transcript(path)


def groups(heard: Heard) -> list[str]:
    """The text of each utterance."""
    texts: dict[int, list[str]] = {}
    for word in heard.words:
        texts.setdefault(word.utterance, []).append(word.text)
    return [" ".join(words) for words in texts.values()]


SPEC = {
    "simple captions": (
        "WEBVTT\n\n00:01.000 --> 00:04.000\nDeep ruby.\n\n00:05.000 --> 00:09.000\nCherry.\n",
        ["Deep ruby.", "Cherry."],
    ),
    "several lines": (
        "WEBVTT\n\n00:01.000 --> 00:04.000\n— Deep ruby.\n— Garnet rim.\n",
        ["— Deep ruby. — Garnet rim."],
    ),
    "header text": (
        "WEBVTT a note on a tasting\nKind: captions\n\n00:01.000 --> 00:02.000\nPlum\n",
        ["Plum"],
    ),
    "cue identifiers": (
        "WEBVTT\n\n1\n00:01.000 --> 00:02.000\nPlum\n\nthe second - one\n00:03.000 --> 00:04.000\nFig\n",
        ["Plum", "Fig"],
    ),
    "voice spans": (
        "WEBVTT\n\n00:00.000 --> 00:02.000\n<v.first.loud Ada Test>It's <i>very</i> dry</v> <b>now</b>\n",
        ["It's very dry now"],
    ),
    "classes and languages": (
        "WEBVTT\n\n04:02.500 --> 04:05.000\nA <i.foreign><lang fr>terroir</lang></i> wine\n",
        ["A terroir wine"],
    ),
    "ruby": ("WEBVTT\n\n00:01.000 --> 00:02.000\n<ruby>nose<rt>-gay</rt></ruby>\n", ["nose-gay"]),
    "inline times": (
        "WEBVTT\n\n00:01.000 --> 00:04.000\nplum<00:00:02.000>and<00:03.000> fig\n",
        ["plum and fig"],
    ),
    "settings": (
        "WEBVTT\n\n00:00:01.000 --> 00:00:02.000 position:10%,line-left align:left size:35%\nPlum\n",
        ["Plum"],
    ),
    "regions and styles": (
        "WEBVTT\n\nSTYLE\n::cue(b) {\n  color: red;\n}\n\nREGION\nid:left\nwidth:40%\n\n"
        "00:01.000 --> 00:02.000 region:left\nPlum\n",
        ["Plum"],
    ),
    "attributes": (
        "WEBVTT\n\nATTRIBUTES\nkind: captions\nlang: en\n\n00:01.000 --> 00:02.000\nPlum\n",
        ["Plum"],
    ),
    "comments": (
        "WEBVTT\n\nNOTE one line\n\nNOTE\nseveral\nlines\n\n"
        "00:01.000 --> 00:02.000\nPlum\n\nNOTE end of file\n",
        ["Plum"],
    ),
    "entities": (
        "WEBVTT\n\n00:01.000 --> 00:02.000\nplum &amp; fig &lt;ten&gt;&nbsp;&#233;\n",
        ["plum & fig <ten> é"],
    ),
    "no blank line between cues": (
        "WEBVTT\n\n00:01.000 --> 00:02.000\nPlum\n00:03.000 --> 00:04.000\nFig\n",
        ["Plum", "Fig"],
    ),
    "cues that overlap": (
        "WEBVTT\n\n00:03.000 --> 00:06.000\nFig\n\n00:01.000 --> 00:05.000\nPlum\n",
        ["Plum", "Fig"],
    ),
    "long hours": ("WEBVTT\n\n100:00:01.000 --> 100:00:02.000\nPlum\n", ["Plum"]),
    "tabs": ("WEBVTT\t.\n\n00:01.000\t-->\t00:02.000\talign:left\nPlum\n", ["Plum"]),
    "no space at the arrow": ("WEBVTT\n\n00:01.000-->00:02.000\nPlum\n", ["Plum"]),
}


@pytest.mark.parametrize(("text", "said"), SPEC.values(), ids=SPEC.keys())
@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"], ids=["LF", "CRLF", "CR"])
@pytest.mark.parametrize("mark", ["", "\ufeff"], ids=["plain", "BOM"])
def test_webvtt_as_the_standard_writes_it(
    tmp_path: Path, text: str, said: list[str], ends: str, mark: str
) -> None:
    heard = read(tmp_path, mark + text.replace("\n", ends))
    assert groups(heard) == said
    assert heard.recogniser == "transcript"


SRT = {
    "comma": (
        "1\n00:00:01,000 --> 00:00:02,000\nPlum\n\n2\n00:00:03,000 --> 00:00:04,000\nFig\n",
        ["Plum", "Fig"],
    ),
    "point": ("1\n00:00:01.000 --> 00:00:02.000\nPlum\n", ["Plum"]),
    "tags": (
        '1\n00:00:01,000 --> 00:00:02,000\n{\\an8}<font color="#ff0000">Plum</font> <i>jam</i>\n',
        ["Plum jam"],
    ),
    "no numbers": (
        "00:00:01,000 --> 00:00:02,000\nPlum\n\n00:00:03,000 --> 00:00:04,000\nFig\n",
        ["Plum", "Fig"],
    ),
    "no blank lines": (
        "1\n00:00:01,000 --> 00:00:02,000\nPlum\n\n\n\n2\n00:00:03,000 --> 00:00:04,000\nFig",
        ["Plum", "Fig"],
    ),
    "a number said": (
        "1\n00:00:01,000 --> 00:00:02,000\nScore\n94\n\n2\n00:00:03,000 --> 00:00:04,000\n91\n",
        ["Score 94", "91"],
    ),
    "place on screen": ("1\n00:00:01,000 --> 00:00:02,000 X1:10 X2:20 Y1:1 Y2:2\nPlum\n", ["Plum"]),
}


@pytest.mark.parametrize(("text", "said"), SRT.values(), ids=SRT.keys())
@pytest.mark.parametrize("ends", ["\n", "\r\n"], ids=["LF", "CRLF"])
def test_subrip(tmp_path: Path, text: str, said: list[str], ends: str) -> None:
    assert groups(read(tmp_path, text.replace("\n", ends), name="a.srt")) == said


def test_times_are_shared_by_letters_and_stay_in_the_cue(tmp_path: Path) -> None:
    heard = read(tmp_path, "WEBVTT\n\n01:00.500 --> 01:01.500\na bcde, fghij\n")
    assert [(w.text, w.start_s, w.end_s) for w in heard.words] == [
        ("a", pytest.approx(60.5), pytest.approx(60.6)),
        ("bcde,", pytest.approx(60.6), pytest.approx(61.0)),
        ("fghij", pytest.approx(61.0), pytest.approx(61.5)),
    ]
    assert heard.words[0].start_s == 60.5
    assert heard.duration_s == 61.5


BROKEN = {
    "no header": ("00:01.000 --> 00:02.000\nPlum\n", "a.vtt", 1, "WEBVTT"),
    "header runs on": ("WEBVTTX\n\n00:01.000 --> 00:02.000\nPlum\n", "a.vtt", 1, "WEBVTT"),
    "end before start": ("WEBVTT\n\n00:05.000 --> 00:02.000\nPlum\n", "a.vtt", 3, "ends before"),
    "no time": ("WEBVTT\n\nsoon --> later\nPlum\n", "a.vtt", 3, "cannot be read"),
    "sixty seconds": ("WEBVTT\n\n00:60.000 --> 01:02.000\nPlum\n", "a.vtt", 3, "cannot be read"),
    "one-digit hour": ("WEBVTT\n\n1:00:01.000 --> 1:00:02.000\nPlum\n", "a.vtt", 3, "cannot be read"),
    "comma": ("WEBVTT\n\n00:01,000 --> 00:02,000\nPlum\n", "a.vtt", 3, "cannot be read"),
    "text without times": (
        "WEBVTT\n\n00:01.000 --> 00:02.000\nPlum\n\nFig\n",
        "a.vtt",
        6,
        "text without times",
    ),
    "srt end before start": ("1\n00:00:05,000 --> 00:00:02,000\nPlum\n", "a.srt", 2, "ends before"),
    "srt no time": ("1\n00:00:05 -> 00:00:02\nPlum\n", "a.srt", 2, "text without times"),
    "not UTF-8": (b"WEBVTT\n\n00:01.000 --> 00:02.000\nRos\xe9\n", "a.vtt", 4, "UTF-8"),
}


@pytest.mark.parametrize(("text", "name", "line", "tells"), BROKEN.values(), ids=BROKEN.keys())
def test_a_broken_transcript_is_refused_with_its_line(
    tmp_path: Path, text: str | bytes, name: str, line: int, tells: str
) -> None:
    with pytest.raises(SourceError) as caught:
        read(tmp_path, text, name=name)
    message = str(caught.value)
    assert f"{name}:{line}:" in message
    assert tells in message
    assert "\n" not in message


@pytest.mark.parametrize("text", ["WEBVTT", "WEBVTT\n", "WEBVTT\n\n00:01.000 --> 00:02.000\n\n"])
def test_a_transcript_in_which_nobody_speaks_is_empty(tmp_path: Path, text: str) -> None:
    assert read(tmp_path, text).words == ()


@pytest.mark.parametrize("text", ["", "\n", "  \r\n"])
def test_an_empty_file_is_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(SourceError, match="is empty"):
        read(tmp_path, text)


def test_no_file_a_folder_another_kind(tmp_path: Path) -> None:
    (tmp_path / "b.vtt").mkdir()
    (tmp_path / "a.txt").write_text("plum")
    for name, tells in (("none.vtt", "no such file"), ("b.vtt", "folder"), ("a.txt", ".vtt or .srt")):
        with pytest.raises(SourceError, match=tells):
            read_transcript(tmp_path / name)


said_lines = st.text(
    st.characters(codec="utf-8", exclude_characters="\r\n\0<&{\\"), min_size=1, max_size=30
).map(lambda t: " ".join(t.split()))


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    cues=st.lists(
        st.tuples(
            st.integers(0, 3_599_000), st.integers(0, 9000), said_lines.filter(lambda t: t and "-->" not in t)
        ),
        min_size=1,
        max_size=8,
    )
)
def test_what_is_written_is_read_back(tmp_path: Path, cues: list[tuple[int, int, str]]) -> None:
    def stamp(ms: int) -> str:
        return f"{ms // 3_600_000:02d}:{ms // 60_000 % 60:02d}:{ms // 1000 % 60:02d}.{ms % 1000:03d}"

    blocks = [f"{stamp(a)} --> {stamp(a + d)}\n{text}" for a, d, text in cues]
    heard = read(tmp_path, "WEBVTT\n\n" + "\n\n".join(blocks) + "\n")
    assert groups(heard) == [text for _, _, text in sorted(cues, key=lambda c: c[0])]
    assert all(w.start_s <= w.end_s <= heard.duration_s for w in heard.words)
    by_group = [w.utterance for w in heard.words]
    assert by_group == sorted(by_group)


@settings(max_examples=300, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    parts=st.lists(
        st.sampled_from(
            [
                "WEBVTT",
                "\n",
                "\n\n",
                "00:01.000",
                " --> ",
                "-->",
                "1",
                "<v ",
                ">",
                "&amp;",
                "NOTE",
                "plum",
                "\r",
                "\0",
            ]
        )
        | st.text(max_size=5),
        max_size=20,
    ),
    name=st.sampled_from(["a.vtt", "a.srt"]),
    begin=st.sampled_from(["", "WEBVTT\n\n", "WEBVTT\n\n00:01.000 --> 00:02.000\n"]),
)
def test_any_text_is_read_or_refused(tmp_path: Path, parts: list[str], name: str, begin: str) -> None:
    try:
        heard = read(tmp_path, (begin + "".join(parts)).encode("utf-8", "surrogatepass"), name=name)
    except SourceError:
        return
    assert bool(heard.words) == (heard.duration_s > 0)
    assert all(0 <= w.start_s <= w.end_s for w in heard.words)


@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(tmp_path: Path, data: bytes) -> None:
    with pytest.raises(SourceError):
        read(tmp_path, data)
