"""From state to verdict: what a diameter's uncertainty rests on, each journal, the whole. Pure."""
