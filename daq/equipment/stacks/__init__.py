"""Gauge blocks: sets, what stacks they make, and how well a stack's size is known."""
