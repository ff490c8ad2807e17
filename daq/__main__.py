"""`jbridge`, and `python -m daq`: a request to end is met from the first moment on."""

import os
import signal
from typing import NoReturn


def main() -> NoReturn:
    """Run the program; loading it takes a while, and nothing is open then that had to be closed."""
    for number in (signal.SIGINT, signal.SIGTERM):
        if signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _end_at_once)
    from daq.cli.app import main as run  # noqa: PLC0415 - after the signals

    run()


def _end_at_once(number: int, frame: object) -> None:
    try:
        os.write(2, b"jbridge: interrupted.\n")
    finally:
        os._exit(130)


if __name__ == "__main__":
    main()
