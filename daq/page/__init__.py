"""The page at the bench: the board in a browser beside the crank, and its buttons.

The server runs in a process of its own (`python -m daq.page`), so that no viewer can hold up a
reading; this process keeps the listening socket and talks to it in lines over a pair of pipes. Only
that process loads the web library.
"""
