"""Why the machine cannot be had here."""


class Unavailable(Exception):
    """Something that this suite needs is missing and cannot be installed; the text says what."""
