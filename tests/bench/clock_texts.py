"""What is said in the sessions of clocks.py: cues with their shares, and each half's own sentences.

About a third of the tasting sentences hold cue words in ordinary use.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Half = Literal["choose", "explore", "report"]  # explore widens choose: more voices, more sentences

# (words in front, the cue), share in percent
AWAY: tuple[tuple[tuple[str, str], float], ...] = (
    (("", "spitting now"), 60), (("", "swallowing now"), 20), (("okay,", "spitting now"), 7),
    (("right,", "spitting now"), 7), (("lovely and fresh,", "spitting now"), 6),
)  # fmt: skip
GONE: tuple[tuple[tuple[str, str], float], ...] = (
    (("", "all gone"), 35), (("", "it's gone"), 35), (("", "gone"), 20), (("and", "it's gone"), 5),
    (("yeah,", "all gone"), 5),
)  # fmt: skip
HOLDING = "still there"  # in place of a remark, in a third of the finishes with talk


@dataclass(frozen=True, slots=True)
class Texts:
    """The sentences of one half."""

    begins: tuple[str, ...]  # the Nth wine's
    tasting: tuple[str, ...]
    remarks: tuple[str, ...]  # while the clock runs
    after: tuple[str, ...]  # behind the gone cue


TEXTS: dict[Half, Texts] = {
    "choose": Texts(
        begins=(
            "Next wine, number one, a Riesling.",
            "Next wine, number two, a Cabernet Franc.",
            "Next wine, number three, a Chenin Blanc.",
            "Next wine, number four, a Grenache.",
        ),
        tasting=(
            "It's gone to a gold at the rim.",
            "The fruit's gone, mostly earth.",
            "There's still some fruit there at the back.",
            "All the mousse has gone out of it.",
            "The next wine will be lighter than this, I think.",
            "I would rather be swallowing than spitting this one.",
            "It's gone a bit flat since this morning.",
            "Clear and pale, with a green edge.",
            "Ripe apple on the nose, a little wax.",
            "High acid and a light body.",
            "Red cherry and dried herbs.",
            "Fine tannins, medium body.",
            "Quince and chalk, quite closed.",
            "Smoke first, then black plum.",
            "The alcohol is warm but it holds together.",
            "Off dry, with a firm line of acid.",
            "Some vanilla from the barrel, not too much.",
            "Deep ruby with a purple rim.",
            "Pear skin, hay and a touch of honey.",
            "Medium intensity, white pepper and violets.",
        ),
        remarks=(
            "long, lemon pith",
            "a little salt coming through",
            "cherry stone and smoke",
            "drying a touch now",
            "honey at the end",
            "the acid carries it",
            "bitter almond",
            "still some plum in it",
            "warm, a bit of clove",
        ),
        after=(
            "Very good, I would buy it.",
            "Drink it in the next two years.",
            "Good length for the price.",
            "A serious wine.",
            "Ninety points from me.",
            "Ready now.",
        ),
    ),
    "explore": Texts(
        begins=(
            "Next wine, number one, a Gamay.",
            "Next wine, number two, a Viognier.",
            "Next wine, number three, a Merlot.",
            "Next wine, number four, a Verdejo.",
        ),
        tasting=(
            "The rim has gone orange already.",
            "Half of the fizz is gone.",
            "They've gone for a riper style here.",
            "Still there under the oak, some currant.",
            "Nobody swallows before noon.",
            "The next wine we pour is from the same slope.",
            "Gone are the days of cheap bottles like this.",
            "Straw yellow, quite bright.",
            "Apricot, blossom and something waxy.",
            "Moderate acid, a round middle.",
            "Strawberry and wet leaves.",
            "Grippy tannin, lean body.",
            "Fennel, hay and lime, shy at first.",
            "Toast and cocoa, then blackcurrant.",
            "A little heat, otherwise neat.",
            "Barely sweet, fresh all the way.",
            "Cedar and tobacco, nicely worn in.",
            "Pale garnet, orange at the rim.",
            "Melon, almond and a bit of salt.",
            "Rather loud on the nose, rose and lychee.",
        ),
        remarks=(
            "plum skin, quite dry",
            "salty at the sides",
            "cocoa and tar",
            "it fades slowly",
            "lime and wax",
            "tannin takes over",
            "tea leaves",
            "there was more fruit a moment ago",
            "a bit of pepper, warm",
        ),
        after=(
            "Good, no more than that.",
            "Hold it until the spring.",
            "Better than the price says.",
            "A charming little thing.",
            "Eighty six points.",
            "Past its best.",
        ),
    ),
    "report": Texts(
        begins=(
            "Next wine, number one, a Pinot Noir.",
            "Next wine, number two, a Sauvignon Blanc.",
            "Next wine, number three, a Syrah.",
            "Next wine, number four, a Chardonnay.",
        ),
        tasting=(
            "The colour's gone to brick at the edge.",
            "The first sweetness is gone by the middle.",
            "It has all gone to leather and mushroom.",
            "Is the oak still there, yes it is.",
            "Better than the next wine in the row, I expect.",
            "They told us we are spitting everything today.",
            "The bubbles are nearly gone.",
            "Bright lemon yellow, thin tears.",
            "Cut grass and gooseberry.",
            "Raspberry, damp leaves, a little game.",
            "Black olive and cracked pepper.",
            "Low tannin, silky, quite light.",
            "Butter and toasted hazelnut.",
            "Medium acid, full body, round.",
            "Blackberry with a note of bacon fat.",
            "Peach and ginger, quite open.",
            "Dry, with a saline edge.",
            "A coarse grain to the tannin.",
            "Opaque, nearly black at the core.",
            "Grapefruit peel and wet stone.",
        ),
        remarks=(
            "orange peel, getting longer",
            "chalk on the gums",
            "pepper comes back",
            "softer than I thought",
            "red fruit to the last",
            "slightly hot",
            "butter and lime",
            "there is still a bit of smoke",
            "mineral and clean",
        ),
        after=(
            "Excellent, and not dear.",
            "Keep it for five years.",
            "Fair, a little simple.",
            "A wine for the table.",
            "Eighty eight points.",
            "Not ready yet.",
        ),
    ),
}
