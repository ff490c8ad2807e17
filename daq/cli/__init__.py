"""The command line: the only place that knows click, rich and a terminal."""
