"""Of what was heard in a breath group a part: its words, and the steps that are of them alone."""

from __future__ import annotations

from dictate.audio.speech import Stretch
from dictate.listen.pieces import Piece, in_spans, only, without_first
from dictate.recognise.recogniser import HeardStretch
from dictate.values import Perhaps, Step, Word

WORDS = tuple(Word(text, float(n), n + 0.5) for n, text in enumerate("a b c d e".split()))


def step(first: int, last: int) -> Step:
    return Step(first, last, ("x",), ("y",), 0.9, "second hearing")


HEARD = HeardStretch(
    WORDS, (step(0, 1), step(1, 3), step(3, 5)), (step(2, 3), step(4, 5)), Perhaps(WORDS, WORDS, 0.5)
)


def test_steps_of_words_left_out_go_and_others_move() -> None:
    kept = only(HEARD, {4, 3, 0})
    assert [w.text for w in kept.words] == ["a", "d", "e"]
    assert kept.again == (step(0, 1), step(1, 3))
    assert kept.refused == (step(2, 3),)
    assert kept.perhaps is None
    assert only(HEARD, ()) == HeardStretch(())


def test_without_its_first_words() -> None:
    rest = without_first(HEARD, 2)
    assert [w.text for w in rest.words] == ["c", "d", "e"]
    assert rest.again == (step(1, 3),)
    assert rest.refused == (step(0, 1), step(2, 3))


def test_a_word_is_in_a_span_in_part_and_at_its_end_only_where_it_has_no_length() -> None:
    spans = ((2.0, 3.0),)
    assert in_spans(Word("x", 1.5, 2.1), spans)
    assert in_spans(Word("x", 2.9, 3.5), spans)
    assert not in_spans(Word("x", 1.5, 2.0), spans)
    assert not in_spans(Word("x", 3.0, 3.5), spans)
    assert in_spans(Word("x", 3.0, 3.0), spans)
    assert not in_spans(Word("x", 3.1, 3.1), spans)


def test_the_careful_ear_goes_first_and_words_know_their_breath_group() -> None:
    piece = Piece(7, Stretch(0, 5), withheld=True)
    assert piece.unknown
    assert piece.heard == HeardStretch(())
    piece.quick = HeardStretch(WORDS[:1])
    assert [(w.text, w.utterance) for w in piece.heard.words] == [("a", 7)]
    piece.careful = HeardStretch(WORDS[1:2])
    assert [w.text for w in piece.heard.words] == ["b"]
    assert not piece.unknown
