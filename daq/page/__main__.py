"""The page's server: started by the measuring process, never by hand."""

import os
import sys


def main() -> None:
    """Serve until stdin ends; what fails is told in the last line."""
    lines, out = sys.stdin.buffer, sys.stdout.buffer
    try:
        from daq.page.server.serving import serve  # noqa: PLC0415 - the web library loads slowly

        serve(lines, out)
    except Exception as error:
        from daq.page.messages import PageFailed, line_of  # noqa: PLC0415 - nor where all is well

        out.write(line_of(PageFailed(f"{type(error).__name__}: {error}"[:500])))
        out.flush()
    finally:
        os._exit(0)  # a thread still waits for stdin, which a usual exit would trip over


if __name__ == "__main__":
    main()
