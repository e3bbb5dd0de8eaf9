"""The review's server, really running: who is let in, what it serves, what a change needs."""

from __future__ import annotations

import io
import json
import threading
from pathlib import Path
from urllib.parse import quote, urlencode, urlsplit

import numpy as np
import pytest
import soundfile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dictate.form.amend import KINDS
from dictate.library import Library
from dictate.review.requests import MOST_BYTES
from dictate.review.server import ReviewError, ReviewPage
from dictate.review.shelf import Shelf
from tests.review.http import Answer, ask, change_of, cookie, get, port_of, send
from tests.review.made import END_S, RATE, START_S, made, recording

PAGES = [
    "/", "/note/1", "/compare?note=1&note=2", "/review.css", "/note.js", "/openapi.json",
    "/words?path=nose.aromas&text=ce", "/note/1/peaks", "/note/1/sound.wav", "/publish?note=1&as=csv",
    "/picture.svg?note=1&note=2",
]  # fmt: skip


def is_locked_down(answer: Answer) -> None:
    policy = dict(part.split(" ", 1) for part in answer.headers["content-security-policy"].split("; "))
    assert policy["default-src"] == "'none'"
    assert policy["frame-ancestors"] == policy["base-uri"] == policy["trusted-types"] == "'none'"
    allowed = {name for name, value in policy.items() if value == "'self'"}
    assert allowed == {"script-src", "style-src", "connect-src", "img-src", "media-src", "form-action"}
    assert answer.headers["cache-control"] == "no-store"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "server" not in answer.headers
    assert "access-control-allow-origin" not in answer.headers


@pytest.mark.parametrize("path", PAGES)
def test_with_the_cookie_each_page_comes_and_without_it_none(page: ReviewPage, path: str) -> None:
    answer = get(page, path)
    assert answer.status == 200
    is_locked_down(answer)
    refused = ask(page, path)
    assert refused.status == 403
    is_locked_down(refused)


def test_a_note_of_a_transcript_has_no_sound_to_play(
    page: ReviewPage, shelf_path: Path, tmp_path: Path
) -> None:
    typed = tmp_path / "typed.vtt"
    typed.write_text("WEBVTT\n\n00:00.000 --> 00:02.000\nnext wine\n", encoding="utf-8")
    with Library.open(shelf_path) as library:
        number = library.add_all([made(typed, number=9)])[0].number
    assert 'data-sound=""' in get(page, f"/note/{number}").body.decode()
    assert 'data-sound="yes"' in get(page, "/note/1").body.decode()


def test_pages_run_nothing_inline_and_name_nothing_outside(page: ReviewPage) -> None:
    for path in ("/", "/note/1", "/compare?note=1&note=2", "/note/99"):
        text = get(page, path, accept="text/html").body.decode()
        assert " style=" not in text
        assert "<style" not in text
        assert "http:" not in text
        assert "https:" not in text
        assert text.count("<script") == text.count('<script type="module" src="/')
        assert not any(f" on{event}=" in text for event in ("click", "load", "error", "input", "submit"))
    for name in ("here", "note", "sound", "panel", "onsets", "words"):
        script = get(page, f"/{name}.js").body.decode()
        assert not any(
            word in script
            for word in ("innerHTML", "outerHTML", "insertAdjacent", "eval(", "http:", "https:")
        )


@pytest.mark.parametrize(
    "host", ["review.example:{port}", "127.0.0.1", "127.0.0.1:1", "192.168.1.1:{port}", ""]
)
def test_a_foreign_host_is_refused(page: ReviewPage, host: str) -> None:
    assert ask(page, "/", host=host.format(port=port_of(page)), cookie=cookie(page)).status == 421


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "http://127.0.0.1:1", "https://127.0.0.1:{port}", None]
)
def test_a_change_from_another_page_is_refused_and_nothing_is_saved(
    page: ReviewPage, shelf_path: Path, origin: str | None
) -> None:
    body = json.dumps(change_of({"do": "put", "path": "palate.acidity", "text": "9"}, revision=1)).encode()
    headers = {"cookie": cookie(page), "content_type": "application/json"}
    if origin is not None:
        headers["origin"] = origin.format(port=port_of(page))
    assert ask(page, "/note/1/change", method="POST", body=body, **headers).status == 403
    own = {**headers, "origin": f"http://127.0.0.1:{port_of(page)}"}
    assert (
        ask(
            page, "/note/1/change", method="POST", body=body, **{**own, "sec_fetch_site": "cross-site"}
        ).status
        == 403
    )
    assert (
        ask(page, "/note/1/change", method="POST", body=body, **{**own, "content_type": "text/plain"}).status
        == 415
    )
    assert ask(page, "/note/1/change", method="POST", body=b" " * (MOST_BYTES + 1), **own).status == 413
    with Library.open(shelf_path) as library:
        assert len(library.revisions("1")) == 1


def test_other_methods_and_files_are_refused(page: ReviewPage) -> None:
    for method in ("PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"):
        assert ask(page, "/note/1", method=method, cookie=cookie(page)).status == 405
    paths = [
        "/server.py", "/../server.py", "/%2e%2e/server.py", "/templates/note.html", "/page/note.js",
        "//etc/passwd", "/note/0", "/note/-1", "/note/1e3", "/note/" + "9" * 5000, "/note/٣", "/note/1/../2",
        "/note/x", "/note/1/sound", "/library.sqlite",
    ]  # fmt: skip
    for path in paths:
        answer = get(page, quote(path, safe="/%"))
        assert answer.status in (404, 307), path
        assert b"import" not in answer.body
        is_locked_down(answer)


def test_sound_is_the_note_s_part_in_the_ranges_asked_for(page: ReviewPage, tmp_path: Path) -> None:
    whole = get(page, "/note/1/sound.wav")
    assert (whole.status, whole.headers["accept-ranges"]) == (200, "bytes")
    samples, rate = soundfile.read(io.BytesIO(whole.body), dtype="int16")
    assert (rate, len(samples)) == (RATE, round((END_S - START_S) * RATE))
    original, _ = soundfile.read(
        tmp_path / "bench.wav", dtype="int16", start=int(START_S * RATE), frames=len(samples)
    )
    assert np.abs(samples.astype(int) - original).max() <= 40  # its mean is taken off
    for asked in ("bytes=0-43", "bytes=44-99", "bytes=45-46", "bytes=-7", "bytes=100001-", "bytes=0-0"):
        part = get(page, "/note/1/sound.wav", range=asked)
        span = part.headers["content-range"].removeprefix("bytes ").partition("/")[0].split("-")
        first, last = map(int, span)
        assert (part.status, part.body) == (206, whole.body[first : last + 1])
        assert int(part.headers["content-length"]) == len(part.body)
    beyond = get(page, "/note/1/sound.wav", range=f"bytes={len(whole.body)}-")
    assert (beyond.status, beyond.body) == (416, b"")
    assert beyond.headers["content-range"] == f"bytes */{len(whole.body)}"
    tag = whole.headers["etag"]
    assert get(page, "/note/1/sound.wav", range="bytes=0-1", if_range=tag).status == 206
    assert get(page, "/note/1/sound.wav", range="bytes=0-1", if_range='"other"').status == 200


def test_sound_comes_only_of_what_the_library_knows(page: ReviewPage, tmp_path: Path) -> None:
    none = get(page, "/note/2/sound.wav")
    assert (none.status, none.json["error"]) == (404, "this note has no recording")
    bench = tmp_path / "bench.wav"
    original = bench.read_bytes()
    bench.write_bytes(original[:-2] + b"\x07\x07")  # another file in its place
    other = get(page, "/note/1/sound.wav")
    assert other.status == 404
    assert "another recording" in other.json["error"]
    bench.unlink()
    gone = get(page, "/note/1/peaks")
    assert gone.status == 404
    assert "dictate library recordings" in gone.json["error"]
    bench.write_bytes(original)
    assert get(page, "/note/1/sound.wav").status == 200


def test_peaks_are_kept_and_the_sound_is_not(page: ReviewPage, tmp_path: Path) -> None:
    first = get(page, "/note/1/peaks").body
    assert len(first) == round((END_S - START_S) * 200)
    assert max(first[100:260]) > 60  # the tone from 2.5 s on
    assert max(first[1820:2380]) < 5
    (kept,) = (tmp_path / "cache").iterdir()
    assert kept.suffix == ".peaks"
    assert kept.stat().st_size < 7000  # 30 s would be 960,000 bytes of sound
    kept.write_bytes(kept.read_bytes()[:16] + b"\x01" * 6000)  # they come from there the next time
    assert set(get(page, "/note/1/peaks").body) == {1}
    kept.write_bytes(b"damaged")
    assert get(page, "/note/1/peaks").body == first


def test_each_kind_of_change_is_saved_at_once(page: ReviewPage, shelf_path: Path) -> None:
    changes = [
        {"do": "put", "path": "palate.acidity", "text": "7.5"},
        {"do": "add", "path": "nose.aromas", "text": "lime", "strength": 6},
        {"do": "amend", "path": "nose.aromas", "index": 1, "text": "saline"},
        {"do": "move", "path": "nose.aromas", "index": 0, "to": "palate.flavours"},
        {"do": "remove", "path": "nose.aromas", "index": 1},
        {"do": "onsets", "from_s": 14.1, "to_s": 22.4},
        {"do": "accept", "path": "palate.acidity"},
        {"do": "accept"},
    ]
    for revision, change in enumerate(changes, 1):
        answer = send(page, 1, revision=revision, **change)
        assert (answer.status, answer.json["revision"]) == (200, revision + 1), answer.body
        assert answer.json["told"]
    with Library.open(shelf_path) as library:
        note = library.get("1")
        assert [d.term for d in note.nose.aromas] == ["saline"]
        assert note.finish.seconds == 8.3
        before = [library.revision("1", n) for n in range(1, 10)]
    for back in range(8, 0, -1):  # undone again and again, down to the note as it was made
        answer = send(page, 1, do="undo", revision=17 - back)
        assert answer.status == 200, answer.body
        with Library.open(shelf_path) as library:
            assert library.get("1") == before[back - 1]
    assert send(page, 1, do="undo", revision=17).status == 409
    assert b'id="undo" aria-keyshortcuts="U" disabled' in get(page, "/note/1").body


def test_a_change_of_an_old_revision_is_merged_or_told(page: ReviewPage) -> None:
    send(page, 1, do="put", path="palate.acidity", text="7", revision=1)
    merged = send(page, 1, do="put", path="palate.tannin", text="3", revision=1)
    assert merged.status == 200
    assert merged.json["meanwhile"] == ["acidity: 5.0 → 7.0"]
    told = send(page, 1, do="put", path="palate.acidity", text="2", revision=1)
    assert told.status == 409
    assert told.json["theirs"] == ["acidity: 5.0 → 7.0", "tannin: nothing → 3.0"]
    assert send(page, 1, do="undo", revision=1).status == 409
    assert send(page, 1, do="put", path="palate.acidity", text="2", revision=99).status == 409
    assert send(page, 1, do="put", path="palate.acidity", text="2", revision=3).status == 200


def test_changes_from_many_sides_at_once_lose_nothing(page: ReviewPage, shelf_path: Path) -> None:
    words = ["lime", "lemon", "smoke", "honey", "violet", "plum", "mint", "toast"]
    kept = cookie(page)  # the shelf of another program too, as `dictate edit` would be

    def add(word: str) -> None:
        assert send(page, 1, do="add", path="palate.flavours", text=word, revision=1).status == 200

    assert kept
    threads = [threading.Thread(target=add, args=[word]) for word in words]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with Library.open(shelf_path) as library:
        assert sorted(d.term for d in library.get("1").palate.flavours) == sorted(words)


@pytest.mark.parametrize(
    "body",
    [b"", b"{", b"[]", b"null", b'{"do": "put"}', b'{"do": "rm", "revision": 1}', b"\xff\xfe", b"[" * 9000,
     b'{"do": "put", "path": "palate.acidity", "text": "7", "revision": 1}',
     b'{"do": "change", "changes": [], "revision": 1}',
     *(b'{"do": "change", "changes": [%s], "revision": 1}' % change for change in (
         b'{"do": "put", "path": "palate.acidity", "text": 7}',
         b'{"do": "put", "path": "palate.acidity", "text": "7", "more": 1}',
         b'{"do": "undo"}',
         b'{"do": "onsets", "from_s": NaN, "to_s": 1}',
         b'{"do": "remove", "path": "nose.aromas", "index": -1}')),
     b'{"do": "change", "changes": [{"do": "accept"}], "revision": 0}',
     b'{"do": "change", "changes": [{"do": "accept"}], "revision": 1, "said": 1}'],
)  # fmt: skip
def test_what_is_no_change_is_refused_in_one_line(page: ReviewPage, body: bytes) -> None:
    headers = {
        "cookie": cookie(page),
        "content_type": "application/json",
        "origin": f"http://127.0.0.1:{port_of(page)}",
    }
    answer = ask(page, "/note/1/change", method="POST", body=body, **headers)
    assert answer.status == 400
    assert "\n" not in answer.json["error"]


EVIL = [
    "<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "'; DROP TABLE notes; --", "%00", "]]>",
    "../../etc/passwd", "=HYPERLINK(1)", "{{7*7}}", "${7*7}", "&lt;b&gt;", "javascript:alert(1)", "<!--",
    "</textarea>",
    "\\u003cscript>", "C:\\x\\..\\y", "@SUM(1)", "$(rm x)", "`id`", "' OR 1=1", "<svg/onload=1>",
]  # fmt: skip
spoken = st.one_of(
    st.sampled_from(EVIL), st.lists(st.sampled_from(EVIL), min_size=2, max_size=3).map("".join),
    st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=60),
)  # fmt: skip


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    spoken,
    st.sampled_from(sorted(p for p, kind in KINDS.items() if kind in ("text", "texts", "descriptors"))),
)
def test_spoken_words_that_look_like_something_else_stay_words(
    page: ReviewPage, words: str, path: str
) -> None:
    import html5lib

    revision = int(get(page, "/note/2").body.decode().partition('data-revision="')[2].partition('"')[0])
    kind = "put" if KINDS[path] == "text" else "add"
    answer = send(page, 2, do=kind, path=path, text=words, revision=revision)
    assert answer.status == 200 or "already" in answer.json["error"], answer.body
    body = get(page, "/note/2").body
    tree = html5lib.HTMLParser(namespaceHTMLElements=False).parse(body)
    shown = [x for x in tree.iter("span") if "value" in x.get("class", "").split()]
    assert " ".join(words.split()) in ["".join(x.itertext()) for x in shown]
    assert {x.get("src") for x in tree.iter("script")} == {"/here.js", "/note.js"}
    assert not [*tree.iter("img"), *tree.iter("iframe"), *tree.iter("object")]
    assert not any(name.startswith("on") for x in tree.iter() if isinstance(x.tag, str) for name in x.attrib)
    found = get(page, "/?" + urlencode({"find": words}))
    assert found.status in (200, 400)
    assert get(page, f"/words?{urlencode({'path': path, 'text': words[:80]})}").status == 200


def test_words_complete_by_spelling_and_by_sound(page: ReviewPage) -> None:
    def terms(path: str, text: str) -> list[str]:
        found: list[str] = get(page, f"/words?{urlencode({'path': path, 'text': text})}").json["terms"]
        return found

    assert terms("nose.aromas", "blackcu")[0] == "blackcurrant"
    assert "saline" in terms("nose.aromas", "sailing")  # by sound
    assert any(term.endswith(" blossom") for term in terms("palate.flavours", "blossom"))  # its second word
    assert "gewürztraminer" in terms("wine.grapes", "gevurtz traminer")
    assert terms("appearance.clarity", "")[:1] != []
    assert terms("verdict.readiness", "ke") == ["keep"]
    assert terms("remarks", "cedar") == terms("nothing", "cedar") == terms("nose.aromas", "") == []


def test_an_onset_is_found_in_the_samples(page: ReviewPage) -> None:
    found = get(page, "/note/1/onset?near=14.1").json
    assert found["onset_s"] == pytest.approx(14.0, abs=0.02)
    for wrong in ("", "x", "nan", "-1", "29", "1e400"):
        assert get(page, f"/note/1/onset?near={wrong}").status == 400


def test_notes_go_in_turn_and_those_accepted_are_passed_over(page: ReviewPage, shelf_path: Path) -> None:
    shelf = Shelf(shelf_path)
    assert shelf.in_turn() == (3, 2, 1)
    assert [shelf.following(n) for n in (3, 2, 1)] == [2, 1, 3]
    shelf.close()
    send(page, 3, do="accept", revision=1)
    assert get(page, "/next/1").headers["location"] == "/note/2"
    send(page, 1, do="accept", revision=1)
    assert get(page, "/next/2").headers["location"] == "/"
    assert b"accepted" in get(page, "/").body
    asked = Shelf(shelf_path, [2, 1])
    assert asked.following(1) == asked.following(0) == 2
    with Library.open(shelf_path) as library:
        library.remove(["2"])
    assert asked.following(1) is None
    asked.close()


def test_what_goes_wrong_within_is_told_and_the_page_goes_on(
    page: ReviewPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("dictate.review.shelf.Shelf.change", broken)
    answer = send(page, 1, do="accept", revision=1)
    assert answer.status == 500
    assert answer.json["error"].endswith("No space left on device; nothing was saved")
    assert b"Traceback" not in answer.body
    assert get(page, "/note/1").status == 200


def test_publishing_and_comparing_are_the_commands_own(page: ReviewPage, shelf_path: Path) -> None:
    from dictate.handout import handout

    with Library.open(shelf_path) as library:
        notes = library.notes([1, 2])
    for form in ("markdown", "html", "csv", "json"):
        made_file = get(page, f"/publish?note=1&note=2&as={form}&title=T")
        assert made_file.body == handout(notes, form, title="T", marked=True)
        assert made_file.headers["content-disposition"].startswith("attachment; ")
    for path in (
        "/publish?as=csv",
        "/publish?note=1&as=exe",
        "/compare",
        "/compare?note=x",
        "/compare?note=1&how=x",
    ):
        assert get(page, path).status == 400
    assert get(page, "/compare?note=99").status == 404


def test_a_port_that_is_taken_is_told_in_one_line(page: ReviewPage, shelf_path: Path) -> None:
    with pytest.raises(ReviewError, match="give a free one") as caught:
        ReviewPage(shelf_path, port=port_of(page)).start()
    assert "\n" not in str(caught.value)


def test_it_stops_twice_and_the_library_is_given_back(shelf_path: Path, tmp_path: Path) -> None:
    page = ReviewPage(shelf_path, asked=[2])
    page.start()
    assert b'data-here="/note/2"' in ask(page, urlsplit(page.url).path).body  # the first of those asked for
    page.stop()
    page.stop()
    assert not [t for t in threading.enumerate() if t.name == "review-web"]
    with Library.open(shelf_path) as library:
        library.add(made(recording(tmp_path, name="b.wav"), number=9))


def test_the_api_keeps_to_its_description(page: ReviewPage) -> None:
    import schemathesis
    from schemathesis.specs.openapi.checks import positive_data_acceptance

    schema = schemathesis.openapi.from_dict(get(page, "/openapi.json").json)
    schema.config.update(base_url=f"http://127.0.0.1:{port_of(page)}")
    headers = {"cookie": cookie(page), "origin": f"http://127.0.0.1:{port_of(page)}"}
    count = 0
    for found in schema.get_all_operations():
        operation = found.ok()

        @settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
        @given(operation.as_strategy())
        def holds(case: object) -> None:
            # what the words of a field may be is no matter of the schema
            case.call_and_validate(  # type: ignore[attr-defined]
                headers=headers, excluded_checks=[positive_data_acceptance]
            )

        holds()
        count += 1
    assert count == 7
