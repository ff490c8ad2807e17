"""A run heard: short tones and spoken words, made here, played by what the machine has. Loaded only
when asked for.
"""
