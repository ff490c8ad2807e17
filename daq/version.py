"""The version, where it costs nothing to read it."""

__version__ = "0.4.0"
