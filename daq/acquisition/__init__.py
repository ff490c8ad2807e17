"""Taking readings: the run loop with its threads and queue, presses, lost links, and the owner of a
session's state.
"""
