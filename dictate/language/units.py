"""What is counted: words of measure and money behind (or signs around) a number. Own list, plain English.

Currencies by their ISO 4217 codes. A bare "dollar" is taken as USD and a bare "pound" as GBP; money of
which the words leave the country open ("crowns", "francs", "twelve fifty a bottle") has none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from dictate.language.tokens import Token

Use = Literal[
    "year", "decade", "score", "percent", "sugar", "acid", "ph", "concentration", "mass", "price", "duration",
    "span", "age", "degrees", "position", "code", "time", "ordinal", "count", "things",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Unit:
    """A word of measure: the number times `factor` is in `unit`. `parts`: a hundredth of money."""

    use: Use
    unit: str
    factor: float = 1.0
    parts: bool = False


_MONEY: dict[str, str] = {
    "GBP": "pound pounds quid sterling gbp pound_sterling pounds_sterling british_pounds",
    "EUR": "euro euros eur",
    "USD": "dollar dollars buck bucks usd us_dollar us_dollars american_dollars u_s_dollars",
    "AUD": "australian_dollar australian_dollars aussie_dollars aud",
    "NZD": "new_zealand_dollar new_zealand_dollars kiwi_dollars nzd",
    "CAD": "canadian_dollar canadian_dollars cad",
    "HKD": "hong_kong_dollar hong_kong_dollars hkd",
    "SGD": "singapore_dollar singapore_dollars sgd",
    "ZAR": "rand rands south_african_rand zar",
    "CHF": "swiss_franc swiss_francs chf",
    "JPY": "yen japanese_yen jpy",
    "CNY": "yuan yuan_renminbi renminbi rmb cny",
    "DKK": "danish_krone danish_kroner danish_crowns dkk",
    "NOK": "norwegian_krone norwegian_kroner norwegian_crowns nok",
    "SEK": "swedish_krona swedish_kronor swedish_crowns sek",
    "CZK": "czech_koruna czech_crowns koruna czk",
    "PLN": "zloty zlotys pln",
    "HUF": "forint forints huf",
    "INR": "indian_rupee indian_rupees inr",
    "GEL": "lari georgian_lari gel",
    "CLP": "chilean_peso chilean_pesos clp",
    "ARS": "argentine_peso argentine_pesos argentinian_pesos ars",
    "BRL": "brazilian_real reais brl",
    "": "kroner kronor krone krona crown crowns peso pesos franc francs rupee rupees",
}
CURRENCY = frozenset(code for code in _MONEY if code)
_PENCE = {"GBP": "pence penny p", "": "cent cents"}
_MEASURES: tuple[tuple[Unit, str], ...] = (
    (Unit("duration", "s"), "second seconds sec secs caudalie caudalies"),
    (Unit("duration", "s", 60.0), "minute minutes min mins"),
    (Unit("span", "hour"), "hour hours"),
    (Unit("span", "day"), "day days"),
    (Unit("span", "week"), "week weeks"),
    (Unit("span", "month"), "month months"),
    (Unit("span", "year"), "year years yrs"),
    (Unit("span", "year", 10.0), "decade decades"),
    (Unit("age", "year"), "year_old years_old year_olds years_of_age"),
    (Unit("score", "point"), "point points pt pts mark marks"),
    (Unit("score", "star"), "star stars"),
    (
        Unit("percent", "%"),
        "% percent per_cent %_abv percent_abv per_cent_abv abv %_vol percent_by_volume per_cent_by_volume"
        " %_by_volume percent_alcohol per_cent_alcohol %_alcohol",
    ),
    (
        Unit("concentration", "g/L"),
        "g_l gram_per_litre grams_per_litre gram_per_liter grams_per_liter gram_a_litre grams_a_litre"
        " gram_a_liter grams_a_liter gram_to_the_litre grams_to_the_litre grams_the_litre",
    ),
    (
        Unit("sugar", "g/L"),
        "grams_residual gram_residual grams_of_residual grams_sugar grams_of_sugar gram_of_sugar grams_rs"
        " grams_of_rs grams_dosage grams_of_dosage grams_residual_sugar grams_of_residual_sugar",
    ),
    (
        Unit("acid", "g/L"),
        "grams_acid grams_acidity grams_of_acid grams_of_acidity grams_total_acidity grams_ta grams_of_ta"
        " grams_of_total_acidity grams_in_tartaric grams_in_sulphuric grams_tartaric grams_sulphuric",
    ),
    (Unit("concentration", "mg/L"), "mg_l milligrams_per_litre milligrams_a_litre milligrams_per_liter"),
    (Unit("mass", "g"), "g gram grams"),
    (Unit("degrees", "°"), "degree degrees"),
    (
        Unit("things", ""),
        "bottle bottles case cases people times glasses wines vines barrels hectares acres metres meters feet"
        " litres liters hectolitres kilos kilometres miles barriques casks magnums centilitres millilitres"
        " growers producers villages plots rows parcels notes clones samples cuvees",
    ),
    (Unit("time", ""), "am pm o'clock a_m p_m"),
)


def _table() -> dict[str, tuple[tuple[tuple[str, ...], Unit], ...]]:
    """Words of units by their first, the longest first."""
    rows: dict[str, list[tuple[tuple[str, ...], Unit]]] = {}
    listed = [
        *_MEASURES,
        *((Unit("price", code), words) for code, words in _MONEY.items()),
        (Unit("price", "GBP", 10.0), "tenner tenners"),
        (Unit("price", "GBP", 5.0), "fiver fivers"),
        *((Unit("price", code, 0.01, parts=True), words) for code, words in _PENCE.items()),
    ]
    for unit, words in listed:
        for word in words.split():
            pieces = tuple(word.split("_"))
            rows.setdefault(pieces[0], []).append((pieces, unit))
    return {first: tuple(sorted(rows[first], key=lambda r: -len(r[0]))) for first in rows}


_UNITS = _table()
_SIGNS = {"$": "USD", "€": "EUR", "£": "GBP", "¥": "JPY"}
_DOLLARS = {
    "us": "USD",
    "a": "AUD",
    "au": "AUD",
    "nz": "NZD",
    "ca": "CAD",
    "c": "CAD",
    "hk": "HKD",
}
# "thirty pounds of pressure", "a twenty second step"
_NOT_MONEY = ("of", "pressure", "weight", "force")


def unit_at(tokens: Sequence[Token], place: int) -> tuple[Unit, int] | None:
    """The unit whose words begin at this token, and where they end; None where there is none.

    A pause inside the words ends them; one in front is the caller's affair.
    """
    if place >= len(tokens):
        return None
    for words, unit in _UNITS.get(tokens[place].text, ()):
        last = place + len(words)
        if last > len(tokens) or any(tokens[place + i].text != word for i, word in enumerate(words)):
            continue
        if any(token.pause for token in tokens[place : last - 1]):
            continue
        then = tokens[last].text if last < len(tokens) and not tokens[last - 1].pause else ""
        if unit.use == "price" and then in _NOT_MONEY:
            continue
        return unit, last
    return None


def sign_of(tokens: Sequence[Token], first: int, *, last: int) -> Unit | None:
    """Money by the sign written at figures [first, last): "$12.50", "US$20", "12€"."""
    before, behind = tokens[first].before, tokens[last - 1].behind
    led = tokens[first - 1] if first else None
    if led and led.text.upper() in CURRENCY and not led.pause and tokens[first].text[:1].isdecimal():
        return Unit("price", led.text.upper())  # "EUR 12.50"
    for sign, code in _SIGNS.items():
        if before.endswith(sign):
            in_front = first and tokens[first - 1].word == tokens[first].word
            land = tokens[first - 1].text if in_front and sign == "$" else ""
            return Unit("price", _DOLLARS.get(land, code))
        if behind.startswith(sign):
            return Unit("price", code)
    return None
