"""The server's own process: routes, event streams, and the parts of the page as HTML."""
