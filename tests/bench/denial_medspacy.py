"""medspacy's answers, run by the interpreter of its own environment: see `bench_denial.py`.

Standard input: a JSON list of [sentence, first, last] (characters of the target). Output: a JSON list of
whether ConText with medspacy's own English rules calls the target negated.
"""

from __future__ import annotations

import json
import sys


def main() -> None:
    """Read the sentences, print the answers."""
    import spacy  # type: ignore[import-not-found]
    from loguru import logger  # type: ignore[import-not-found]
    from medspacy.context import ConText  # type: ignore[import-not-found]

    logger.remove()
    nlp = spacy.blank("en")
    nlp.add_pipe("sentencizer")
    context = ConText(nlp)
    answers = []
    for text, first, last in json.load(sys.stdin):
        document = nlp(text)
        span = document.char_span(first, last, label="TARGET", alignment_mode="expand")
        if span is None:
            sys.exit(f"no target in {text!r}")
        document.set_ents([span])
        answers.append(bool(context(document).ents[0]._.is_negated))
    json.dump(answers, sys.stdout)


if __name__ == "__main__":
    main()
