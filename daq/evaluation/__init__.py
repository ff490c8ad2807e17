"""From state to verdict: the best estimate at each place, each journal, the whole. Pure."""
