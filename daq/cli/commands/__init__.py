"""One module a command: its options, the call that does the work, the exit code."""
