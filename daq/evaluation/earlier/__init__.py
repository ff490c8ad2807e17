"""How rule sets 1 and 2 judged a journal, kept for the sessions that they closed. Pure."""
