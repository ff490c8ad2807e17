"""A plan made by asking: what was answered so far, the next question, and the file. Pure."""
