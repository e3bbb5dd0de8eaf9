"""The errors of everything that is read: a recording, a transcript."""


class SourceError(ValueError):
    """An input that cannot be used; the message is one line and says what to do."""


class NoSoundError(SourceError):
    """A file that holds no sound at all: a picture, a film without a sound track."""
