"""The error of everything that is read: a recording, a transcript."""


class SourceError(ValueError):
    """An input that cannot be used; the message is one line and says what to do."""
