"""What a command leads to: what is allowed, what is believed, how checks and stints begin. Pure."""
