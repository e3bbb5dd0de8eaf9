"""What is said, from the ears to a window and back: which window, in what order, and what is never done."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, ClassVar

import numpy as np
import pytest
import soundfile
from hypothesis import HealthCheck, given, settings

from dictate.library import Library
from dictate.listen.ears import Ready, Reply, Task, Which
from dictate.listen.rehearsal import Rehearsal
from dictate.recognise.recogniser import HeardStretch
from dictate.review import listening
from dictate.review.listening import RecentSound, Utterance
from dictate.review.server import ReviewPage
from dictate.review.voice import NOT_HEARD, WHILE_PLAYING, Voice
from dictate.settings import Settings
from dictate.values import Word
from tests.review.http import Answer, ask, cookie, get, port_of, post, send
from tests.review.said import Script

DEMO = Path(__file__).parents[2] / "audio_demo" / "guests-table.flac"


@pytest.fixture
def script() -> Script:
    return Script()


@pytest.fixture
def page(shelf_path: Path, tmp_path: Path, script: Script) -> Iterator[ReviewPage]:
    """A running page with its microphone on."""
    made = ReviewPage(shelf_path, cache=tmp_path / "cache", voice=Voice(script, Settings(), hold_s=5.0))
    made.start()
    yield made
    made.stop()


class Window:
    """A window of the page, without a browser: it asks, and does nothing by itself."""

    def __init__(self, page: ReviewPage, name: str, **here: Any) -> None:
        self._page = page
        self.here: dict[str, Any] = {
            "window": name,
            "note": 1,
            "revision": 1,
            "key": "",
            "seen": 0,
            "state": 1,
        }
        self.here |= here

    def ask(self, **more: Any) -> dict[str, Any]:
        """The next news."""
        answer = post(self._page, "/voice/next", {**self.here, **more})
        assert answer.status == 200, answer.body
        news: dict[str, Any] = answer.json
        self.here["state"] = news["state"]
        return news

    def next(self, **more: Any) -> dict[str, Any]:
        """The next message, which is done then."""
        news = self.ask(**more)
        while news["message"] is None:
            news = self.ask()
        self.here["seen"] = news["message"]["number"]
        message: dict[str, Any] = news["message"]
        return message


def done(message: dict[str, Any]) -> tuple[str, Any]:
    return message["do"], message["changes"] or message["key"] or message["why"]


def test_what_is_said_is_given_to_the_window_used_last_and_to_no_other(
    page: ReviewPage, script: Script
) -> None:
    one, two = Window(page, "one"), Window(page, "two", note=2)
    first, second = one.ask(state=0), two.ask(state=0)
    assert (first["on"], first["microphone"], second["problem"]) == (True, "USB microphone", "")
    script.say("acidity is high")
    message = two.next()
    put = {"do": "put", "path": "palate.acidity", "text": "8"}
    assert (message["heard"], done(message)) == ("acidity is high", ("change", [put]))
    assert post(page, "/voice/next", {**one.here, "state": 0, "used": True}).json["message"] is None
    two.ask(state=0)
    script.say("accept")
    assert one.next()["do"] == "accept"


def test_each_is_done_before_the_next_is_read(page: ReviewPage, script: Script) -> None:
    """ "that" is what is looked at when it is said, behind what was said before."""
    window = Window(page, "one", key="palate.acidity")
    window.ask(state=0)
    script.say("next", sure=False)
    script.say("scrap the cedar")
    script.say("that's saline")
    assert window.next()["do"] == "next"
    window.here["key"] = "nose.aromas.1"
    removed = window.next()
    assert done(removed) == ("change", [{"do": "remove", "path": "nose.aromas", "index": 0}])
    body = {"do": "change", "revision": 1, "changes": removed["changes"], "said": removed["heard"]}
    assert post(page, "/note/1/change", body).status == 200
    window.here |= {"revision": 2, "key": "nose.aromas.0"}
    assert done(window.next())[1][0] == {
        "do": "amend", "path": "nose.aromas", "index": 0, "text": "saline", "strength": None, "certain": True,
    }  # fmt: skip


def test_the_quick_ear_moves_and_only_the_careful_ear_changes(page: ReviewPage, script: Script) -> None:
    window = Window(page, "one", key="palate.acidity")
    window.ask(state=0)
    number = script.say("accept", sure=False)
    later = script.say("next", sure=False)  # not before what was said first
    while window.ask()["open"] < 2:  # that it was heard is shown at once
        assert window.here["seen"] == 0
    script.say("it is corked", number=number)
    assert done(window.next())[1][0]["path"] == "faults"
    script.say("next", number=later)
    assert window.next()["do"] == "next"
    number = script.say("play that", sure=False)
    assert window.next()["do"] == "play"
    script.say("plate that", number=number)  # it is done already
    script.say("thank you")
    assert window.next()["heard"] == "thank you"


def test_what_is_heard_while_a_window_plays_is_no_command_and_is_told(
    page: ReviewPage, script: Script
) -> None:
    playing, other = Window(page, "one"), Window(page, "two", note=2)
    playing.ask(state=0, playing=True)
    other.ask(state=0)
    script.say("accept all")
    told = other.next()
    assert (done(told), told["heard"]) == (("nothing", WHILE_PLAYING), "accept all")
    script.say("off the record, Anna is late again")
    told = other.next()
    assert (done(told), told["heard"]) == (("nothing", WHILE_PLAYING), "")
    playing.ask(state=0, playing=False)
    script.seconds -= 4.5  # said before it ended
    script.say("accept all")
    assert done(other.next(used=True)) == ("nothing", WHILE_PLAYING)
    script.say("accept all")
    assert other.next()["do"] == "accept_all"


def test_a_window_that_is_gone_plays_no_more_and_gets_nothing(
    page: ReviewPage, script: Script, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("dictate.review.windows.GONE_S", 0.2)
    gone, here = Window(page, "gone"), Window(page, "here", note=2)
    here.ask(state=0)
    gone.ask(state=0, playing=True)
    time.sleep(0.3)
    here.ask(state=0)
    script.seconds += 2
    script.say("next")
    assert here.next()["do"] == "next"


def test_nothing_said_is_lost_where_a_page_is_on_its_way(page: ReviewPage, script: Script) -> None:
    script.say("next note")
    time.sleep(0.3)
    assert Window(page, "one").next()["do"] == "next_note"


def test_what_is_not_understood_or_not_heard_is_told(page: ReviewPage, script: Script) -> None:
    window = Window(page, "one", key="palate.acidity")
    window.ask(state=0)
    for text, why in (
        ("could you pass the water please", "not understood"),
        ("the acidity is not high", "said as something that is not so"),
        ("it had tobacco last year", "said of another time"),
    ):
        script.say(text)
        message = window.next()
        assert (message["heard"], done(message)) == (text, ("nothing", why))
    script.say("", broken=True)
    assert done(window.next()) == ("nothing", NOT_HEARD)


def test_listening_is_turned_off_and_on_by_page_and_by_voice(page: ReviewPage, script: Script) -> None:
    window = Window(page, "one")
    window.ask(state=0)
    assert post(page, "/voice/listen", {"on": False}).json == {"on": False}
    assert not script.is_on
    assert window.ask()["on"] is False
    post(page, "/voice/listen", {"on": True})
    for text, heard in (("stop listening", "stop listening"), ("Off the record. He is a fool.", "")):
        script.turn(on=True)
        script.say(text)
        message = window.next()
        assert (message["do"], message["heard"]) == ("stop_listening", heard)
        assert not script.is_on


def test_a_copy_of_a_window_is_told_that_its_name_is_taken(page: ReviewPage) -> None:
    window, answers = Window(page, "one"), []
    window.ask(state=0)
    held = threading.Thread(target=lambda: answers.append(window.ask()))
    held.start()
    time.sleep(0.3)
    copy = Window(page, "one")
    copy.ask(state=0)
    held.join(5)
    assert [news["own"] for news in answers] == [False]


def test_a_spoken_change_tells_so_in_history_and_is_undone(page: ReviewPage, shelf_path: Path) -> None:
    told = send(page, 1, do="put", path="palate.acidity", text="8", revision=1, said="acidity is <b>high</b>")
    assert told.json["told"] == ["acidity: 5.0 → 8.0"]
    with Library.open(shelf_path) as library:
        (change,) = library.get("1").history
    assert (change.by, change.said, change.later) == ("voice", "acidity is <b>high</b>", True)
    assert "by voice: “acidity is &lt;b&gt;high&lt;/b&gt;”" in get(page, "/note/1").body.decode()
    assert send(page, 1, do="undo", revision=2).status == 200
    with Library.open(shelf_path) as library:
        assert library.get("1").palate.acidity == library.revision("1", 1).palate.acidity


def test_changes_together_are_made_in_all_or_in_nothing(page: ReviewPage, shelf_path: Path) -> None:
    body = {"do": "change", "revision": 1, "said": "x", "changes": [
        {"do": "put", "path": "palate.acidity", "text": "8"},
        {"do": "remove", "path": "nose.aromas", "index": 9},
    ]}  # fmt: skip
    assert post(page, "/note/1/change", body).status == 400
    with Library.open(shelf_path) as library:
        assert library.get("1") == library.revision("1", 1)
    body["changes"][1]["index"] = 0  # type: ignore[index]
    assert post(page, "/note/1/change", body).json["revision"] == 2
    assert send(page, 1, do="undo", revision=2).json["told"] == [
        "undone: acidity: 5.0 → 8.0", "undone: smell: cedar → nothing",
    ]  # fmt: skip


BROKEN = [b"", b"{", b"[]", b'{"window": "x"}', b'{"window": "", "note": 1, "revision": 1}', b'{"on": 1}']


@pytest.mark.parametrize("path", ["/voice/next", "/voice/listen"])
def test_what_is_no_question_is_refused_and_strangers_get_nothing(page: ReviewPage, path: str) -> None:
    own = {
        "cookie": cookie(page),
        "origin": f"http://127.0.0.1:{port_of(page)}",
        "content_type": "application/json",
    }

    def tried(body: bytes, **other: str) -> Answer:
        return ask(page, path, method="POST", body=body, **{**own, **other})

    for body in BROKEN:
        answer = tried(body)
        assert answer.status == 400
        assert "\n" not in answer.json["error"]
    good = b'{"on": true}' if "listen" in path else b'{"window": "x", "note": 1, "revision": 1}'
    assert tried(good, content_type="text/plain").status == 415
    assert tried(good, origin="http://evil.example").status == 403
    assert tried(good, host="evil.example").status == 421
    assert tried(good, cookie="review=1").status == 403
    assert tried(b" " * 20000).status == 413
    assert tried(good).status == 200


def test_the_api_keeps_to_its_description(shelf_path: Path, tmp_path: Path, script: Script) -> None:
    import schemathesis
    from schemathesis.specs.openapi.checks import positive_data_acceptance

    made = ReviewPage(shelf_path, cache=tmp_path / "cache", voice=Voice(script, Settings(), hold_s=0.01))
    made.start()
    try:
        schema = schemathesis.openapi.from_dict(get(made, "/openapi.json").json).include(
            path_regex="^/voice/"
        )
        schema.config.update(base_url=f"http://127.0.0.1:{port_of(made)}")
        headers = {"cookie": cookie(made), "origin": f"http://127.0.0.1:{port_of(made)}"}
        for found in schema.get_all_operations():

            @settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
            @given(found.ok().as_strategy())
            def holds(case: Any) -> None:
                # to the schema 24.0 is an integer
                case.call_and_validate(headers=headers, excluded_checks=[positive_data_acceptance])

            holds()
    finally:
        made.stop()


def test_without_a_microphone_the_page_says_nothing_of_it(shelf_path: Path, tmp_path: Path) -> None:
    made = ReviewPage(shelf_path, cache=tmp_path / "cache")
    made.start()
    try:
        assert b'id="voice"' not in get(made, "/note/1").body
        answer = post(made, "/voice/listen", {"on": True})
        assert answer.status == 404
        assert "--voice" in answer.json["error"]
    finally:
        made.stop()


def test_a_page_that_is_asked_ends_at_once(page: ReviewPage) -> None:
    window = Window(page, "one")
    window.ask(state=0)
    held = threading.Thread(target=lambda: post(page, "/voice/next", window.here))
    held.start()
    time.sleep(0.2)
    began = time.monotonic()
    page.stop()
    held.join(5)
    assert time.monotonic() - began < 4


def test_sound_is_kept_for_a_while_and_then_silence() -> None:
    sound = RecentSound(kept_s=1.0)
    whole = np.arange(1, 16000 * 5 + 1, dtype=np.float32)
    for first in range(0, len(whole), 1234):
        sound.add(whole[first : first + 1234])
        assert len(sound) == min(len(whole), first + 1234)
        near = slice(max(0, len(sound) - 9000), len(sound) + 99)
        assert np.array_equal(sound[near], whole[near.start : len(sound)])
    assert not sound[0:100].any()
    assert len(sound[100:50]) == 0


class Ear:
    """In the place of an ear's process: hears "next" in whatever it is asked to, if it can be loaded."""

    asked: ClassVar[list[Which]] = []
    broken: ClassVar[tuple[Which, ...]] = ()

    def __init__(self, which: Which, settings: Settings, *, tell: Callable[[Any], None], **_: Any) -> None:
        self._which, self._tell = which, tell
        if which in self.broken:
            threading.Timer(0.5, tell, [Ready(which, "", f"the {which} ear is broken")]).start()
        else:
            tell(Ready(which, which))

    def hear(self, task: Task) -> None:
        self.asked.append(self._which)
        if self._which not in self.broken:
            words = (Word("next", task.stretch.start_s, task.stretch.end_s),)
            self._tell(Reply(self._which, task.number, HeardStretch(words)))

    def close(self, wait_s: float | None = None) -> None:
        pass


@pytest.fixture
def ears(monkeypatch: pytest.MonkeyPatch) -> type[Ear]:
    monkeypatch.setattr(listening, "Ear", Ear)
    monkeypatch.setattr(Ear, "asked", [])
    return Ear


def listened(path: Path, *, on: bool = True) -> tuple[listening.Listening, list[Utterance]]:
    """Some seconds of a tasting, listened to until they are over."""
    samples, rate = soundfile.read(DEMO, dtype="int16", stop=16000 * 24)
    soundfile.write(path, samples, rate)
    heard: list[Utterance] = []
    made = listening.Listening(Rehearsal(path, pace=0), Settings())
    made.turn(on=on)
    made.start(heard.append, lambda: None)
    end = time.monotonic() + 30
    while made.problem != listening.OVER:
        assert time.monotonic() < end
        time.sleep(0.01)
    time.sleep(0.7)
    made.stop()
    assert made.seconds == pytest.approx(len(samples) / rate + 1.5, abs=0.01)
    return made, heard


def test_what_is_heard_is_told_by_both_ears_and_written_nowhere(ears: type[Ear], tmp_path: Path) -> None:
    _, heard = listened(tmp_path / "said.wav")
    sure = [said.number for said in heard if said.sure]
    assert sure == [*range(len(sure))]
    assert len(sure) > 1
    assert {said.number for said in heard if not said.sure} <= set(sure)
    assert set(ears.asked) == {"quick", "careful"}
    assert [path.name for path in tmp_path.rglob("*") if path.is_file()] == ["said.wav"]


def test_while_it_is_off_nothing_reaches_an_ear(ears: type[Ear], tmp_path: Path) -> None:
    _, heard = listened(tmp_path / "said.wav", on=False)
    assert (heard, ears.asked) == ([], [])


def test_without_the_careful_ear_the_quick_one_counts(
    ears: type[Ear], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was said before it was known that the careful one cannot hear is not lost."""
    monkeypatch.setattr(ears, "broken", ("careful",))
    _, heard = listened(tmp_path / "said.wav")
    assert {said.number for said in heard if said.sure} == {said.number for said in heard}
    assert heard
