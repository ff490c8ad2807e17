"""Gauge drivers: the bytes of one gauge in, readings out; nothing here knows of sessions.

Bytes come from a port (`ports`), a codec (`dialects`) makes readings of them by a profile
(`profile`), and one thread for each gauge does both (`gauge`). The tree stands in DEVELOPERS.md.
"""
