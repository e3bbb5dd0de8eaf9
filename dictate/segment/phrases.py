"""Words to clauses to phrases: cut, weigh, decode, join what belongs together."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from dictate.language.fillers import LEAD_IN, WORDS, clock_cue_struck
from dictate.language.lost_commas import with_lost_commas
from dictate.language.mentions import find_mentions
from dictate.language.passing_names import in_passing
from dictate.language.patterns import Line, compile_any
from dictate.language.pauses import paused_behind
from dictate.language.tokens import tokenise
from dictate.lexicon.entries import Lexicon
from dictate.segment.breaths import BREATH_S, breaths
from dictate.segment.decode import Clause, decode_stages
from dictate.segment.evidence import StageTable, breath_evidence, clause_evidence, look_of, looks_at
from dictate.values import Cue, Phrase, Stage, Word

_GUESS = compile_any(
    ["could|might|may be", "i 'd guess|say it 's", "my guess|money", "thinks|think", "guess|guessing"]
)
_CLOCK = ("away", "holding", "gone")
CLEAR = 3.0  # evidence from which a correction's stage is clear though another is likely too
NAMING = 1.5  # the breath that begins a wine names it
LOOKING = 6.0  # unless it is of the look alone ("pale lemon"): nobody names a wine so
_CORRECTION = compile_any(
    [
        "i said … i meant|mean", "i said … , … i meant|mean", "i said … , … , … i meant|mean",
        "i said|put|called … , * * i meant",
        "make the|that", "change the", "did i say … , i meant|mean", "scratch|cancel the|that",
        "scrap|delete|drop|cancel the|those", "change|swap|replace|switch * to|for|with|into",
        "^ scrap|delete|remove|cancel|erase *", "forget|scrap|ignore what i said",
        "when i said|wrote|called|put", "amend|alter|adjust|revise|correct that|it|this|the", "^ correction",
        "i have|'ve said|called|put|written … but", "rub|wipe|cross|take that|it|this|the * *? out|off",
        "i|we 'm|am|was making|inventing|imagining the|that|those", "i called the|it",
        "i said … i|and ought|should|meant|wanted to? have? said|say|put",
        "pull|yank|axe|bin|chuck|omit|withdraw the|that|those", "let me be fair|correct|change|revise",
        "made|make|'ve_made a? mistake with|about|on",
        "i should have said", "instead|in_place of * put|write|read|say", "^ for * read|put|write",
    ]
)  # fmt: skip
# another wine of the same house, of which short breaths may go on to speak, until one is of this wine
_SISTER = compile_any(
    ["the|their * *? from the same people|producer|grower|maker|estate|house|cellar|winery"]
)
_HERE = compile_any(
    ["this|here|it|nose|palate|finish|rim|colour|color|acid|acidity|tannin|tannins|body|alcohol|length"]
)
OF_ANOTHER = 4.0
UNNAMED = 6.0  # a clause that measures the wine or looks at it, and names nothing, is no part of its name
_DEGREE = (
    "low|lowish|light|soft|medium|mid|moderate|average|good|crisp|fresh|firm|grippy|high|highish|full|big|strong|long"
    "|short|rounded"
)
_NOUN = (
    "acid|acids|acidity|tannin|tannins|alcohol|body|bodied"
    "|sweetness|bitterness|mousse|intensity|finish|length"
)
# a thing of the glass named with its degree; in the breath that names the wine the naming ends here
_MEASURED = compile_any(
    [
        f"with? a? very|quite|fairly|pretty|rather? {_DEGREE} plus|minus? {_NOUN}",
        f"with? the? {_NOUN} ,? is|'s|are|was? very|quite|fairly|pretty|rather? {_DEGREE}",
        "bone|off|medium dry", "on the nose|palate|finish", "the? nose|palate ,? is|'s|was",
    ]
)  # fmt: skip
# a breath that tells where we are, or of what, and nothing else
_SHORT = 6  # words
_SO = "^ so|now|okay|ok|right|and|then|well? ,?"
_ANNOUNCES = compile_any(
    [
        f"{_SO} on|to|in? the|my? nose|palate|mouth|finish|appearance|verdict $",
        f"{_SO} the? colour|color|look|conclusion|conclusions|overall $", f"{_SO} in the glass $",
    ]
)  # fmt: skip
_NAMES_A_THING = compile_any([f"^ and|the|its? the? {_NOUN}|acids|nose|palate|colour|color|rim|legs|tears $"])
_SAYS_OF_IT = compile_any(["^ is|'s|are|was|were|isn't|aren't"])
NOTE_WEIGHT = 8.0  # evidence before the first "next wine" that makes it a note of its own
# a new clause begins here even without punctuation: the taster turns to another stage
_TURNS = compile_any(
    [
        "and? the finish|palate|nose|rim|length is|'s|has|was", "on the nose|palate|finish",
        "in the mouth", "at the rim|edge", "let me smell|nose|taste",
    ]
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Unit:
    """A clause on its way to a phrase, or a cue."""

    words: tuple[Word, ...]
    clause: Clause
    wine: int
    cue: Cue | None = None
    paused: bool = False  # said while the notes were paused: kept, and of no stage


def _clauses(
    words: tuple[Word, ...], *, looks: Sequence[int] = (), naming: bool
) -> Iterator[tuple[Word, ...]]:
    """A breath group cut at its punctuation and before a turn to another stage; one that is `naming` the
    wine also before a thing measured and before `looks`, where it tells a colour."""
    tokens = with_lost_commas(tokenise(words))
    line = Line(tokens)
    # "cherry on the nose" ends with its stage: no turn
    turns = [first for first, last in line.spans(_TURNS) if last < len(tokens) and not tokens[last - 1].pause]
    if naming:
        turns += [*looks, *(first for first, _ in line.spans(_MEASURED))]
    cuts = {tokens[first].word for first in turns}
    cuts |= {t.word + 1 for t in tokens if t.pause}
    start = 0
    for cut in [*sorted(c for c in cuts if 0 < c < len(words)), len(words)]:
        if cut > start:
            yield words[start:cut]
            start = cut


def _apart(words: tuple[Word, ...], weighed: Sequence[Mapping[Stage, float]]) -> tuple[Stage, ...]:
    """The stage, or those that it may be, of a correction ("I said light, I meant medium"), by its own words
    alone; a guess at what a blind wine is is of the identity."""
    tokens = tokenise(words)
    line = Line(tokens)
    if _GUESS.search(line.text) and any(w.get("identity", 0.0) >= 1 for w in weighed):
        return ("identity",)
    if not _CORRECTION.search(line.text):
        return ()
    total: dict[Stage, float] = {}
    for weights in weighed:
        for stage, weight in weights.items():
            if stage != "aside":
                total[stage] = total.get(stage, 0.0) + weight
    ranked: list[Stage] = sorted(total, key=lambda s: -total[s])
    best, second = (*(total[s] for s in ranked), 0.0, 0.0)[:2]
    if best > 0 and (best >= CLEAR or second <= best / 2):
        return (ranked[0],)
    # "I said plum, I meant cherry" may be of any of these: of the one that we were in last
    led = all(t.text in LEAD_IN for t in tokens[: next(line.spans(_CORRECTION))[0]])
    return tuple(s for s in ranked if total[s] > 0) if led else ()


def _ends_sentence(words: tuple[Word, ...]) -> bool:
    tokens = tokenise(words)
    return bool(tokens) and tokens[-1].pause in (".", "?", "!")


def _describes(words: tuple[Word, ...], *, lexicon: Lexicon) -> bool:
    """Whether a clause tells a degree of something in the glass, or its colour, or names the wine only in
    passing ("this Chinon has strawberry")."""
    tokens = tokenise(words)
    passing = any(in_passing(tokens, mention) for mention in find_mentions(tokens, lexicon))
    return passing or bool(_MEASURED.search(Line(tokens).text) or looks_at(tokens, lexicon=lexicon))


class _Cutter:
    """Walks breath groups and cues in order of time; knows the wine and whether the clock runs."""

    def __init__(self, table: StageTable, lexicon: Lexicon) -> None:
        self.table, self.lexicon = table, lexicon
        self.units: list[_Unit] = []
        self.wine = 0
        self.running = self.ran = self.fresh_wine = self.begun = self.hue_said = False
        self.described = False  # something of this wine, beside its name
        self.paused = False
        self.elsewhere = False  # the last breath was of another wine of the same house

    def _is_a_note(self) -> bool:
        """Whether what was said before the first "next wine" is about a wine, or bench talk. Who
        starts the clock is tasting."""
        if any(u.cue and u.cue.kind == "away" for u in self.units):
            return True
        weight = 0.0
        for unit in self.units:
            evidence = unit.clause.evidence
            weight += max((v for s, v in evidence.items() if s != "aside"), default=0.0)
        return weight >= NOTE_WEIGHT

    def _before(self, behind: Cue) -> Iterator[str]:
        """What was said in front of a take-back, backwards; what leads in to it is nothing."""
        for unit in reversed(self.units):
            if unit.cue is not None:
                yield unit.cue.kind
            elif not _leads_in(unit.words, behind):
                yield WORDS

    def cue(self, cue: Cue) -> None:
        """Takes a cue in: it may begin a wine, and start or stop the clock."""
        if cue.kind == "begin":
            self.wine += 1 if self.begun or self._is_a_note() else 0
            self.fresh_wine = self.begun = True
            self.described = False
        self.paused = paused_behind(cue.kind, self.paused)
        if cue.kind == "away":
            self.ran, self.running = self.running, True
        elif cue.kind in ("gone", "begin", "end"):
            self.ran, self.running = self.running and cue.kind == "gone", False
        elif cue.kind == "take_back" and clock_cue_struck(self._before(cue)):
            self.running = self.ran
        # who starts or stops the clock is at the finish: what comes behind is seldom of the nose
        timed = not self.fresh_wine and (cue.kind == "away" or (cue.kind == "gone" and self.ran))
        self.units.append(_Unit(cue.words, Clause(timed=timed), self.wine, cue))

    def _goes_on(self, words: tuple[Word, ...]) -> bool:
        """Whether a breath ends what the one before it began."""
        before = self.units[-1] if self.units else None
        if before is None or before.cue:
            return False
        return _tells_of_it(before.words, words)

    def breath(self, words: tuple[Word, ...]) -> None:
        """Takes a breath group in, cut into clauses; in a pause, as it is."""
        if self.paused:
            self.units.append(_Unit(words, Clause(), self.wine, paused=True))
            return
        named, begins = self.fresh_wine, not self.units
        tokens = tokenise(words)
        looks = looks_at(tokens, lexicon=self.lexicon) if named else ()
        parts = list(_clauses(words, looks=looks, naming=named))
        look = look_of(tokens, lexicon=self.lexicon)
        weighed = breath_evidence(
            [
                clause_evidence(tokenise(p), self.table, lexicon=self.lexicon, smells=look.smells)
                for p in parts
            ]
        )
        if look.either and self.hue_said and not self.fresh_wine:
            # the hue is told: "peach" is a smell by now
            weighed = [{s: v for s, v in w.items() if s != "appearance"} for w in weighed]
        first_look = look.deep and (self.fresh_wine or not self.hue_said)
        self.hue_said = look.hue or (self.hue_said and not self.fresh_wine)
        text = Line(tokens).text
        self.elsewhere = bool(_SISTER.search(text)) or (
            self.elsewhere and len(tokens) <= _SHORT and not _HERE.search(text)
        )
        if self.elsewhere:  # "the white from the same people is better." "Lemon."
            weighed = [{**w, "aside": w.get("aside", 0.0) + OF_ANOTHER} for w in weighed]
        apart = _apart(words, weighed)
        if not apart and _CORRECTION.search(text):
            weighed = [{s: v for s, v in w.items() if s != "aside"} for w in weighed]  # of where we are
        for place, (part, weights) in enumerate(zip(parts, weighed, strict=True)):
            if (look.alone and (named or begins)) or first_look:
                weights["appearance"] = weights.get("appearance", 0.0) + (LOOKING if named else NAMING)
            elif named:
                plain = weights.get("identity", 0.0) <= 0 and _describes(part, lexicon=self.lexicon)
                weights["identity"] = weights.get("identity", 0.0) + (-UNNAMED if plain else NAMING)
            clause = Clause(
                evidence=weights,
                new_breath=place == 0,
                new_sentence=place > 0 and _ends_sentence(parts[place - 1]),
                goes_on=place == 0 and self._goes_on(part),
                new_wine=self.fresh_wine,
                early=not self.described,
                clock_running=self.running,
                apart=apart,
            )
            self.units.append(_Unit(part, clause, self.wine))
            self.fresh_wine = False
            told = max((v for s, v in weights.items() if s not in ("identity", "aside")), default=0.0)
            self.described |= told >= CLEAR and told > weights.get("identity", 0.0)


def _tells_of_it(named: Sequence[Word], words: Sequence[Word]) -> bool:
    """ "the acidity", "is medium"."""
    if len(named) > _SHORT or not _SAYS_OF_IT.search(Line(tokenise(words)).text):
        return False
    return _NAMES_A_THING.search(Line(tokenise(named)).text) is not None


def _leads_on(units: Sequence[_Unit], stages: Sequence[Stage], *, place: int, said: Sequence[Word]) -> bool:
    """Whether `said`, a breath up to the unit at `place`, carries nothing but its stage or a thing's name
    ("on the nose.", "the acidity"), and the next, of the same stage and wine, says the rest: both are one
    phrase."""
    if place + 1 >= len(units):
        return False
    here, then = units[place], units[place + 1]
    same = here.wine == then.wine and stages[place] == stages[place + 1]
    if (
        not same
        or not then.clause.new_breath
        or here.cue
        or then.cue
        or here.paused
        or here.clause.apart
        or then.clause.apart
    ):
        return False
    if len(said) > _SHORT:
        return False
    text = Line(tokenise(said)).text
    if _ANNOUNCES.search(text):
        return True
    return _tells_of_it(said, then.words)


def _joined(units: Sequence[_Unit], stages: Sequence[Stage]) -> Iterator[Phrase]:
    """Neighbouring clauses of one breath and stage become one phrase; so does an announcement with what
    it announces."""
    open_words: list[Word] = []
    open_stage: Stage | None = None
    wine = 0
    announced = False
    for place, (unit, stage) in enumerate(zip(units, stages, strict=True)):
        fits = stage == open_stage and (announced or not unit.clause.new_breath) and unit.cue is None
        if open_words and not fits:
            assert open_stage is not None
            yield Phrase(tuple(open_words), open_stage, wine)
            open_words = []
        announced = _leads_on(units, stages, place=place, said=(*open_words, *unit.words))
        if unit.cue:
            yield Phrase(unit.words, "cue", unit.wine, cue=unit.cue)
            open_stage = None
            continue
        open_words.extend(unit.words)
        open_stage, wine = stage, unit.wine
    if open_words and open_stage is not None:
        yield Phrase(tuple(open_words), open_stage, wine)


def _take_back(phrases: Sequence[Phrase]) -> tuple[Phrase, ...]:
    """ "strike that" drops what was said last before it in this wine: a cue of the clock (away,
    holding, gone) alone, or a phrase with all of its breath group. Said twice, it goes one further back,
    never past a pause of the notes.
    """
    done = list(phrases)
    standing: list[int] = []  # what can still be taken back, the last on top
    wine = -1
    for index, phrase in enumerate(done):
        if phrase.wine != wine or (phrase.cue and phrase.cue.kind in ("begin", "pause_off")):
            wine, standing = phrase.wine, []
        if phrase.cue is None or phrase.cue.kind in _CLOCK:
            standing.append(index)
        if phrase.cue is None or phrase.cue.kind != "take_back":
            continue
        while standing and _leads_in(done[standing[-1]].words, phrase.cue):
            standing.pop()
        last = standing[-1] if standing else -1
        while standing and (standing[-1] == last or _one_breath(done, standing[-1])):
            place = standing.pop()
            done[place] = replace(done[place], taken_back=True)
    return tuple(done)


def _leads_in(words: Sequence[Word], cue: Cue) -> bool:
    """Are these words ("no,", "hang on,") the beginning of the breath in which the cue is said?"""
    same = words[-1].utterance == cue.words[0].utterance
    return same and all(token.text in LEAD_IN for token in tokenise(words))


def _one_breath(phrases: Sequence[Phrase], place: int) -> bool:
    """Whether a phrase and the one behind it were said in one breath, no cue between."""
    here, behind = phrases[place], phrases[place + 1]
    return (
        here.cue is None
        and behind.cue is None
        and here.words[-1].utterance == behind.words[0].utterance
        and behind.words[0].start_s - here.words[-1].end_s < BREATH_S
    )


def segment_words(
    kept: Sequence[Word], cues: Sequence[Cue], *, lexicon: Lexicon, table: StageTable
) -> tuple[Phrase, ...]:
    """Phrases in order of time; they cover the kept words and the cues' words once.

    Words before the first "next wine" are the first note's (talk at the bench, as a rule an aside); what is
    said while the notes are paused is an aside. Each phrase knows its wine (counted by begin cues, from 0)
    and whether "strike that" took it back. Time is linear in the number of words.
    """
    cutter = _Cutter(table, lexicon)
    events: list[tuple[float, int, Cue | tuple[Word, ...]]] = []
    # a cue parts a breath group: the words on each side are cut on their own
    cue_at = sorted(w.start_s for c in cues for w in c.words)
    for cue in cues:
        events.append((cue.words[0].start_s, 0, cue))
    for breath in breaths(kept):
        part: list[Word] = []
        for word in breath:
            if part and bisect_right(cue_at, word.start_s) > bisect_right(cue_at, part[-1].start_s):
                events.append((part[0].start_s, 1, tuple(part)))
                part = []
            part.append(word)
        events.append((part[0].start_s, 1, tuple(part)))
    for _, _, event in sorted(events, key=lambda e: (e[0], e[1])):
        if isinstance(event, Cue):
            cutter.cue(event)
        else:
            cutter.breath(event)
    units = cutter.units
    chain = [place for place, u in enumerate(units) if not u.paused and (u.cue is None or u.clause.timed)]
    decoded = dict(zip(chain, decode_stages([units[place].clause for place in chain]), strict=True))
    stages: list[Stage] = [
        "cue" if u.cue else "aside" if u.paused else decoded[place] for place, u in enumerate(units)
    ]
    return _take_back(tuple(_joined(units, stages)))
