"""A simulated shop: a crankshaft, a data-output micrometer and the cable it sends through.

Where things are: ``workpiece`` the journals' true shape, ``example`` one invented crankshaft,
``gauge`` the micrometer and its errors, ``rounding`` what its display does to a size, ``formats``,
``nibbles``, ``registers`` and ``checksums`` the bytes it sends, ``links`` the pseudo-terminal or
socket they go through, ``faults`` what goes wrong on it. ``answering`` and ``modbus`` are for a
gauge that is asked. ``script`` is the language of a simulated session, ``player`` what each line of
it causes, ``scenario`` the playing itself, ``bench`` the playing in real time, with answers and
faults, ``by_hand`` the same from lines as they are typed, ``clock`` the time, ``errors`` everything
raised on purpose.

A keyboard-type gauge is a ``usb_device`` on a ``usb_bus``; ``usb_backend`` shows the bus to pyusb,
``layouts`` and ``keystrokes`` are what it types. ``gadgets`` are devices of a real kernel instead.

Nothing is taken from the programs that read these bytes: sizes, rounding and checksums are worked
out here a second time, so that an error in one of the two shows as a disagreement.
"""
