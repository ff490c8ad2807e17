"""A simulated shop: a crankshaft, a data-output micrometer and the cable it sends through.

Where things are: ``workpiece`` the journals' true shape, ``example`` one invented crankshaft,
``gauge`` the micrometer and its errors, ``rounding`` what its display does to a size, ``formats``
and ``checksums`` the bytes it sends, ``links`` the pseudo-terminal or socket they go through,
``script`` the language of a simulated session, ``player`` what each line of it causes, ``scenario``
the playing itself, ``clock`` the time it is played in, ``errors`` everything raised on purpose.

Nothing is taken from the programs that read these bytes: sizes, rounding and checksums are worked
out here a second time, so that an error in one of the two shows as a disagreement.
"""
