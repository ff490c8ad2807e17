"""One gauge on its port: the read loop, the dialogue with one that is asked, hints on errors."""
