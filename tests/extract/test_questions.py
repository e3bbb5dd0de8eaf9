"""Questions, answers at a clause's end and denying suffixes mark what they should, and no more."""

from __future__ import annotations

import pytest

from dictate.values import Scope
from tests.extract.said import parsed


def scope_of(marked: str) -> Scope:
    """The scope of the words in [..]."""
    before, rest = marked.split("[")
    inside, after = rest.split("]")
    read = parsed(before + inside + after, "nose")
    first = len(before.split())
    words = range(first, first + len(inside.split()))
    scopes = {m.scope for t, m in zip(read.tokens, read.marks, strict=True) if t.word in words}
    (scope,) = scopes
    return scope


@pytest.mark.parametrize(
    "asked",
    [
        "is that [tar]?",
        "so, is that [tar]",
        "do I get [coconut] here?",
        "has the nose got [honey]?",
        "any [petrol] in there, anyone?",
        "could that be [cedar]? hmm",
    ],
)
def test_what_is_asked_and_left_open_is_doubtful(asked: str) -> None:
    assert scope_of(asked) == "doubtful"


@pytest.mark.parametrize(
    "said",
    [
        "is that [tar]? yes",
        "is there [smoke]? of course there is",
        "any [honey], oh yes",
        "[tar], isn't it?",
        "how good is that [bergamot]?",
        "boy, is that [lemon]",
        "is it ever [cherry]",
        "any [smoke] there was is subtle",
        "does it for me, the [cherry]",
    ],
)
def test_what_is_answered_or_exclaimed_is_said(said: str) -> None:
    assert scope_of(said) == "said"


@pytest.mark.parametrize("text", ["is that [mint]? no, fennel", "blackcurrant yes, [mint] no", "[oak] nope"])
def test_what_a_no_answers_is_denied(text: str) -> None:
    assert scope_of(text) == "denied"


@pytest.mark.parametrize("text", ["lovely [mint] no?", "[mint] yes", "oh no, [mint]"])
def test_other_noes_deny_nothing(text: str) -> None:
    assert scope_of(text) == "said"


@pytest.mark.parametrize("text", ["clean and [oak]-free", "[oak]-less by now"])
def test_a_suffix_denies_its_word(text: str) -> None:
    marks = parsed(text.replace("[", "").replace("]", ""), "nose").marks
    assert [m.rule for m in marks if m.scope == "denied"]


@pytest.mark.parametrize("text", ["[oak] less than cherry", "a care-free [cherry]", "less [cherry]"])
def test_a_word_of_its_own_is_no_suffix(text: str) -> None:
    assert scope_of(text) == "said"
