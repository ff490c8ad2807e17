"""Libraries that only some formats need."""

NEEDS = "{what} needs {library}, which is not installed: pip install 'journalbridge[formats]'"
"""What to do without one."""
