"""Measurements against the least that Python can do for the same work; see README.md."""
