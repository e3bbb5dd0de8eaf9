"""Any query's tree, for hypothesis: of words that notes have, and of any others."""

from __future__ import annotations

from hypothesis import strategies as st

from dictate.find import NUMBERS, TEXTS, All, Any, Mentions, Not, Range
from dictate.find.fields import ANYWHERE, HEADS
from dictate.language.search import search_keys

NUMBER = st.floats(0, 10).map(lambda x: round(x, 1)) | st.sampled_from([0, 1, 2, 5, 13.42, 2018, 2020])
KEYS = (
    st.lists(
        st.sampled_from("a b c peach vanilla copper ladle margaret river é 日".split()),
        min_size=1,
        max_size=2,
    )
    | st.text(min_size=1, max_size=2).map(lambda text: [text])
).map(lambda words: tuple(key for word in words for key in search_keys(word)) or ("a",))
PLACES = st.sampled_from([ANYWHERE, *HEADS.values()]) | st.sampled_from(TEXTS).map(lambda text: (text,))
LEAF = st.builds(
    Range,
    st.sampled_from(list(NUMBERS)),
    low=st.none() | NUMBER,
    high=st.none() | NUMBER,
    low_counts=st.booleans(),
    high_counts=st.booleans(),
) | st.builds(Mentions, PLACES, KEYS, st.booleans())
QUERY = st.recursive(
    LEAF,
    lambda inner: (
        st.builds(Not, inner)
        | st.lists(inner, max_size=3).map(tuple).map(All)
        | st.lists(inner, min_size=1, max_size=3).map(tuple).map(Any)
    ),
    max_leaves=6,
)
