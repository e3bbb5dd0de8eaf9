"""What all rooms know of language: tokens, numbers as spoken, lexicon words found in tokens. Pure."""
