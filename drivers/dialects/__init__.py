"""How gauges talk: bytes to frames, frames to readings, one codec a dialect. Pure."""
