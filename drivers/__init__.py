"""Gauge drivers: the bytes of one gauge in, readings out; nothing here knows of sessions.

`reading` the records · `profile` and `layout_spec` a gauge's dialect as a checked file ·
`framing` bytes to frames · `checksums`, `numbers`, `layout` a frame's text to a value ·
`codec` all of these behind one interface · `advice` what several errors in a row mean ·
`ports/` the only input and output · `gauge` the read loop that one thread runs.
"""
