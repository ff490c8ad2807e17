"""From a few presses of a send button to a profile. Pure: bytes and typed text in, text out."""
