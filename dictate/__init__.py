"""A note-taker for wine tasters: talk, and get a complete, correct, comparable note."""

__version__ = "0.1.0"
