"""Cases of the ConText and NegEx algorithms in tasting speech, read by ours and by medspacy.

Each case of `tests/cases/extract/context.json` names the published rule it translates and where that stands;
[..] marks the target, `scope` what ours may make of it. Sources:

- `negex_triggers.txt`, `NegExAlgorithmDescription.md`, `ConTextAlgorithmDescription.md`,
  `PotentialImprovementtoNegation.md`, `hypothetical_triggers.txt`, `history_triggers.txt`: the algorithms'
  authors' own repository, chapmanbe/negex (Chapman et al. 2001, J. Biomed. Inform. 34: 301-310; Harkema
  et al. 2009, J. Biomed. Inform. 42: 839-851).
- `from memory`: the kind of rule is published (experiencer), its list of words was not at hand.
- `ours`: no published rule; a sentence in which a rule made for the others must not act.

ConText's values become scopes: negated is denied; possible is doubtful; historical is past; hypothetical is
doubtful, expected or future; another experiencer is another wine. Sentences are spoken tasting, but each
keeps the published words where a taster could say them. What an estate "is known to have", or is "praised in
the past for", is expected of this wine in tasting speech.
"""

from __future__ import annotations

import json
import subprocess
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.extract.said import CASES, load_cases, parsed

ROOT = Path(__file__).parents[2]
MEDSPACY_PYTHON = ROOT / ".venv" / "medspacy" / "bin" / "python"
RECORDED = CASES / "context_medspacy.json"
# of these both programs know the whole question: is the target negated or not?
SHARED = ("published sentence", "pseudo", "pre", "post", "termination", "suggested")


@dataclass(frozen=True, slots=True)
class Case:
    """A sentence, its target [first, last) in characters, and the scopes that are right for it."""

    marked: str  # with [..]
    text: str
    first: int
    last: int
    scopes: tuple[str, ...]
    kind: str = ""
    rule: str = ""
    source: str = ""

    @property
    def denied(self) -> bool:
        """Whether the target is denied, and nothing else would do."""
        return self.scopes == ("denied",)


def bracketed(text: str, scopes: str, *, kind: str = "", rule: str = "", source: str = "") -> Case:
    """A case of "no [oak]"; scopes are parted by "|"."""
    first, last = text.index("["), text.index("]") - 1
    bare = text.replace("[", "").replace("]", "")
    return Case(text, bare, first, last, tuple(scopes.split("|")), kind, rule, source)


def context_cases() -> list[Case]:
    """All cases of the table."""
    return [
        bracketed(c["text"], c["scope"], kind=c["kind"], rule=c["rule"], source=c["source"])
        for c in load_cases("context")
    ]


def shared_cases() -> list[Case]:
    """Those that ask for denial alone: gold is denied, or not denied at all."""
    return [c for c in context_cases() if c.kind in SHARED and (c.denied or "denied" not in c.scopes)]


def scopes_of(case: Case) -> set[str]:
    """What ours makes of the target's tokens."""
    before = len(case.text[: case.first].split())
    words = range(before, before + len(case.text[case.first : case.last].split()))
    read = parsed(case.text, "nose")
    return {m.scope for t, m in zip(read.tokens, read.marks, strict=True) if t.word in words}


def medspacy_denies(cases: Sequence[Case]) -> list[bool]:
    """medspacy's `is_negated` of each target, by the interpreter of its own environment.

    Raises CalledProcessError where medspacy fails, FileNotFoundError where the environment is missing.
    """
    asked = json.dumps([[c.text, c.first, c.last] for c in cases])
    script = ROOT / "tests" / "bench" / "denial_medspacy.py"
    done = subprocess.run(
        [str(MEDSPACY_PYTHON), "-W", "ignore", str(script)],
        input=asked,
        capture_output=True,
        text=True,
        check=True,
    )
    answers: list[bool] = json.loads(done.stdout)
    return answers


def recorded_denials() -> dict[str, bool]:
    """What medspacy said of each marked sentence, as written down by `bench_denial.py --record`."""
    answers: dict[str, bool] = json.loads(RECORDED.read_text(encoding="utf-8"))["denied"]
    return answers


def cohens_kappa(one: Sequence[bool], other: Sequence[bool]) -> float:
    """Agreement beyond chance of two judges (Cohen 1960, Educ. Psychol. Meas. 20: 37-46); 1 is all, 0 is
    what chance gives. Raises ValueError on judges of unlike or no cases."""
    if not one or len(one) != len(other):
        raise ValueError("two judges of the same cases are needed")
    pairs = Counter(zip(one, other, strict=True))
    count = len(one)
    agreed = (pairs[True, True] + pairs[False, False]) / count
    yes_one, yes_other = sum(one) / count, sum(other) / count
    chance = yes_one * yes_other + (1 - yes_one) * (1 - yes_other)
    return 1.0 if chance == 1 else (agreed - chance) / (1 - chance)
