"""Gauge drivers: the bytes of one gauge in, readings out; nothing here knows of sessions.

`reading` the records · `profile` a gauge's dialect, `profile_file` and `layout_checks` its file ·
`toml_file` small files people write · `framing` bytes to frames · `checksums`, `numbers`,
`layout_spec`, `layout` a frame's text to a value · `codec` all of these behind one interface ·
`advice` what several errors in a row mean · `clock` the one clock · `ports/` the only input and
output · `discovery` what is plugged in · `gauge` the read loop that one thread runs.
"""
