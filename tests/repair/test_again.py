"""The second hearing: what is proposed for doubtful words, and what is put in place by how the sound fits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.lexicon import load_lexicon
from dictate.lexicon.entries import Entry
from dictate.pipeline import second_hearing, sounds_of
from dictate.repair import Proposal, SecondHearing, repair_words, replay
from dictate.settings import Settings
from dictate.values import Step, Word
from tests.repair.said import TABLE, spoken


@pytest.fixture(scope="module")
def hearing() -> SecondHearing:
    return second_hearing(Settings())


def doubtful(line: str, *, sure: Mapping[str, float]) -> list[Word]:
    """A breath group in which the recogniser was sure of all words but some."""
    return [
        Word(w.text, w.start_s, w.end_s, sure.get(w.text.strip(",."), 0.97), w.utterance)
        for w in spoken(line)
    ]


def decided(
    hearing: SecondHearing, words: Sequence[Word], gains: Mapping[str, float], others: Sequence[str] = ()
) -> tuple[Step, ...]:
    """Steps where the sound fits these terms so much better (nats), and all others 20 nats worse."""
    proposals = hearing.propose(words, others)
    return hearing.decide(words, proposals, gains=[gains.get(p.target.text, -20.0) for p in proposals]).steps


def texts(proposals: Sequence[Proposal]) -> list[str]:
    return [p.target.text for p in proposals]


@pytest.mark.parametrize(
    ("line", "doubt", "term"),
    [
        ("it could be camera lit, I think", ("camera", "lit"), "camaralet"),
        ("a glass of Shablee with it", ("Shablee",), "chablis"),
        ("the tendons are fine", ("tendons",), "tannins"),
        ("made from zinomavro alone", ("zinomavro",), "xinomavro"),
        ("some brioshe behind it", ("brioshe",), "brioche"),
        ("a wine from Alchomo", ("Alchomo",), "alcamo"),
    ],
)
def test_terms_that_sound_alike_are_proposed(
    hearing: SecondHearing, line: str, doubt: tuple[str, ...], term: str
) -> None:
    words = doubtful(line, sure=dict.fromkeys(doubt, 0.3))
    assert term in texts(hearing.propose(words))


@pytest.mark.parametrize(
    "line", ["the cat sat on the mat", "ripe blackberry on the nose", "next wine, Chinon"]
)
def test_nothing_is_proposed_for_words_heard_for_sure(hearing: SecondHearing, line: str) -> None:
    assert hearing.propose(doubtful(line, sure={})) == ()


def test_cues_and_figures_are_left_alone(hearing: SecondHearing) -> None:
    words = [Word(w.text, w.start_s, w.end_s, 0.2, 0) for w in spoken("all gone 2018")]
    assert not [p for p in hearing.propose(words) if p.first < 3]


@pytest.mark.parametrize(
    ("line", "doubt", "term"),
    [
        ("a red from Central Otago", ("Central", "Otago"), "central otago"),
        ("some licorice", ("licorice",), "liquorice"),
    ],
)
def test_a_term_is_not_written_another_way(
    hearing: SecondHearing, line: str, doubt: tuple[str, ...], term: str
) -> None:
    proposals = hearing.propose(doubtful(line, sure=dict.fromkeys(doubt, 0.3)))
    assert proposals  # others may still be meant
    assert term not in {p.target.term for p in proposals if p.last - p.first == len(doubt)}


def test_another_likely_text_shows_what_is_doubtful(hearing: SecondHearing) -> None:
    words = doubtful("some smoke ham in it", sure={"smoke": 0.6, "ham": 0.6})
    assert "smoked ham" in texts(hearing.propose(words, ["some smoked ham in it", "sun smoke ham in it"]))
    step = decided(hearing, words, {"smoked ham": -1.0}, ["some smoked ham in it"])
    assert [s.after for s in step] == [("smoked", "ham")]


@pytest.mark.parametrize(
    ("line", "others", "lost"),
    [
        ("like biting a lemon rind with the pith on", [], "lemon rind"),
        ("the color is pale, lemon with green reflexes", [], "lemon with green reflexes"),
        (
            "number five, Cabernet Sauvignon, Napa Valley",
            ["number 5-Cabernet Sauvignon, Nap Valley"],
            "cabernet sauvignon",
        ),
    ],
)
def test_a_term_that_was_heard_does_not_swallow_its_neighbours(
    hearing: SecondHearing, line: str, others: Sequence[str], lost: str
) -> None:
    words = [Word(w.text, w.start_s, w.end_s, 0.3, 0) for w in spoken(line)]
    assert lost not in texts(hearing.propose(words, others))


def test_the_number_of_a_wine_is_left_alone_and_figures_are_words(hearing: SecondHearing) -> None:
    words = [
        Word(w.text, w.start_s, w.end_s, 0.3, 0)
        for w in spoken("Next wine number eight. Visiting from the most")
    ]
    proposals = hearing.propose(words, ["Next wine number 8 Riesling from the Mosel"])
    found = {p.target.text: (p.first, p.last) for p in proposals}
    assert found["riesling"] == (4, 5)
    assert found["mosel"] == (7, 8)
    assert not [p for p in proposals if p.first <= 3 < p.last]


def test_the_sound_decides(hearing: SecondHearing) -> None:
    words = doubtful("made from lambrusca alone", sure={"lambrusca": 0.4})
    better = decided(hearing, words, {"lambrusco": 4.0})
    assert [(s.before, s.after) for s in better] == [(("lambrusca",), ("lambrusco",))]
    assert "nats" in better[0].reason
    assert 0 < better[0].score <= 1
    words = doubtful("it could be camera lit, I think", sure={"camera": 0.4, "lit": 0.4})
    assert [s.after for s in decided(hearing, words, {"camaralet": 8.0})] == [("camaralet,",)]
    assert decided(hearing, words, {"camaralet": -15.0}) == ()


def test_everyday_words_in_everyday_talk_need_more(hearing: SecondHearing) -> None:
    words = doubtful("the wall is not plumb", sure={"plumb": 0.7})
    assert decided(hearing, words, {"plum": -1.0}) == ()


def test_steps_never_overlap_and_can_be_replayed(hearing: SecondHearing) -> None:
    words = [
        Word(w.text, w.start_s, w.end_s, 0.3, 0) for w in spoken("a gruner felt leaner from vacow valley")
    ]
    proposals = hearing.propose(words)
    steps = hearing.decide(words, proposals, gains=[8.0] * len(proposals)).steps
    assert steps
    assert all(a.last <= b.first for a, b in zip(steps, steps[1:], strict=False))
    done = replay(words, steps)
    assert [w.start_s for w in done] == sorted(w.start_s for w in done)
    assert (done[0].start_s, done[-1].end_s) == (words[0].start_s, words[-1].end_s)


@given(
    st.lists(
        st.sampled_from("the a wine nose Shablee lit camera of 12 , tendons Ünïcode x".split()), max_size=9
    )
)
def test_any_words_are_safe(line: list[str]) -> None:
    hearing = second_hearing(Settings())
    words = [Word(w.text, w.start_s, w.end_s, 0.4, 0) for w in spoken(" ".join(line))]
    proposals = hearing.propose(words, ["the nose", " ".join(reversed(line))])
    assert len(proposals) <= TABLE.again.most
    for one in proposals:
        assert 0 <= one.first < one.last <= len(words)
        assert hearing.hypothesis(words, one)
    steps = hearing.decide(words, proposals, gains=[5.0] * len(proposals)).steps
    lexicon = load_lexicon()
    done = repair_words(words, lexicon, table=TABLE, sounds=sounds_of(lexicon), again=steps)
    assert replay(words, done.steps) == done.words


def test_the_prompt_names_each_term_once_the_likeliest_last(hearing: SecondHearing) -> None:
    proposals = hearing.propose(doubtful("a glass of Shablee with it", sure={"Shablee": 0.3}))
    prompt = hearing.prompt(proposals)
    assert prompt.endswith(f"{proposals[0].target.text}.")
    assert len(set(prompt[:-1].split(", "))) == len(prompt[:-1].split(", "))


OWN = (
    Entry("Heron and Rake", "producer", "", ("Heron and Rake",), {"heard_as": ("herein rake",)}),
    Entry("snozzleberry", "descriptor", "own words", ("snozzleberry",), {"own": {}}),
)


def test_words_of_ones_own_are_put_right() -> None:
    lexicon = load_lexicon().with_entries(OWN)
    sounds = sounds_of(lexicon)
    for line, wanted in (
        ("next wine, from herein rake, 2018", "next wine, from Heron and Rake, 2018"),
        ("next wine, from Heron in Rake, 2018", "next wine, from Heron and Rake, 2018"),
        ("a touch of snozzle berry", "a touch of snozzleberry"),
    ):
        done = repair_words(spoken(line), lexicon, table=TABLE, sounds=sounds)
        assert " ".join(w.text for w in done.words) == wanted
    left = "next wine, from Lantern and Rook, 2018"
    assert repair_words(spoken(left), lexicon, table=TABLE, sounds=sounds).steps == ()


def test_names_of_ones_own_are_proposed_where_a_producer_stands() -> None:
    lexicon = load_lexicon().with_entries(OWN)
    hearing = SecondHearing(lexicon, sounds_of(lexicon), table=TABLE)
    words = doubtful(
        "next wine, made by hair on a rake, 2018", sure={"hair": 0.3, "on": 0.4, "a": 0.5, "rake": 0.5}
    )
    assert "Heron and Rake" in texts(hearing.propose(words))
    named = {p.target.kind for p in hearing.propose(words) if 4 <= p.first < 7}
    assert named <= {"producer"}


def test_what_the_second_hearing_refused_is_not_written_by_sound(hearing: SecondHearing) -> None:
    """The recogniser listened for the term and did not hear it; the phone distance has only the letters."""
    words = doubtful("a wine from the Loire, vouvrey I think", sure={"vouvrey": 0.3})
    lexicon = load_lexicon()

    def text(steps: Sequence[Step], refused: Sequence[Step]) -> str:
        done = repair_words(
            words, lexicon, table=TABLE, sounds=sounds_of(lexicon), again=steps, refused=refused
        )
        return " ".join(w.text for w in done.words)

    assert "vouvray" in text((), ())
    decision = hearing.decide(words, (every := hearing.propose(words)), gains=[-20.0] * len(every))
    assert not decision.steps
    assert "vouvrey" in text((), decision.refused)
    earlier = Step(1, 2, ("wine",), ("white", "wine"), 0.9, "heard again")  # moves what is behind it
    assert "vouvrey" in text((earlier,), decision.refused)
    elsewhere = [replace(step, first=0, last=1, before=("a",)) for step in decision.refused]
    assert "vouvray" in text((), elsewhere)


def named(line: str, refused: Sequence[Step] = (), again: Sequence[Step] = ()) -> str:
    """The line after repair, where the second hearing has refused, or said, this."""
    lexicon = load_lexicon()
    done = repair_words(
        spoken(line), lexicon, table=TABLE, sounds=sounds_of(lexicon), again=again, refused=refused
    )
    return " ".join(w.text for w in done.words)


def test_where_a_wine_is_named_a_refused_name_often_spoken_of_needs_less() -> None:
    least = TABLE.again.naming

    def refused(first: int, said: str, term: str, score: float) -> list[Step]:
        return [Step(first, first + 1, (said,), (term,), score, "heard again")]

    assert "dour, barolo," in named("next wine, dour, zhmuk, 2010", refused(3, "zhmuk,", "Barolo,", least))
    assert "zhmuk" in named("next wine, dour, zhmuk, 2010", refused(3, "zhmuk,", "Barolo,", least / 2))
    assert "zhmuk" in named("his name was zhmuk, I think", refused(3, "zhmuk,", "Barolo,", least))
    assert "zhmuk" in named("next wine, dour, zhmuk, 2010", refused(3, "zhmuk,", "Camaralet,", least))


def test_a_second_hearing_that_would_lose_a_term_must_be_sure() -> None:
    least = TABLE.again.lost

    def heard(term: str, score: float) -> list[Step]:
        return [Step(3, 4, ("toffee.",), (term,), score, "heard again")]

    line = "a bit of toffee."
    assert named(line, again=heard("coffee.", least - 0.05)) == line
    assert named(line, again=heard("coffee.", least)) == "a bit of coffee."
    assert named(line, again=heard("toffee-apple.", 0.4)) == "a bit of toffee-apple."  # nothing is lost
