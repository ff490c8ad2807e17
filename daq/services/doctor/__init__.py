"""Is this machine fit for a session: facts gathered at the edge, then judged one by one, pure."""
