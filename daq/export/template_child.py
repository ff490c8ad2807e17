"""Fills a template in a process of its own, so that nothing that it does can hold up or hurt the
program: started by `template` as a script, never imported.

Reads one JSON document on stdin, writes the text to stdout. What a template must not do ends it:
exit code 3, and one JSON document on stderr that says why. It has no loader, so it reads no other
file; of Python's objects it sees none but the texts and numbers that it was given.
"""

import json
import math
import sys
from contextlib import suppress
from typing import Any

FAULTY = 3


def main() -> int:
    """The exit code."""
    told: dict[str, Any] = json.loads(sys.stdin.buffer.read())
    import jinja2  # noqa: PLC0415 - before the bounds: loading it needs files
    from jinja2.sandbox import ImmutableSandboxedEnvironment  # noqa: PLC0415

    bound(told["seconds"], told["memory_bytes"])
    env = ImmutableSandboxedEnvironment(
        undefined=jinja2.StrictUndefined, keep_trailing_newline=True, trim_blocks=True
    )
    env.globals = {name: env.globals[name] for name in ("range", "dict", "namespace")}
    env.filters |= {"comma": comma, "quoted": quoted}
    left = told["most_bytes"]
    try:
        for piece in env.from_string(told["template"]).generate(told["context"]):
            data = piece.encode("utf-8", errors="replace")
            left -= len(data)
            if left < 0:
                return fault(0, f"it makes more than {told['most_bytes'] // 2**20} MiB of text")
            sys.stdout.buffer.write(data)
    except jinja2.TemplateSyntaxError as error:
        return fault(error.lineno, error.message or "it cannot be read")
    except MemoryError:
        return fault(0, "it needs more memory than a template may have")
    except RecursionError:
        return fault(0, "it calls itself without end")
    except Exception as error:  # whatever a template can raise is the template's fault
        if "no loader" in str(error):
            return fault(line_of(error), "a template reads no other file")
        return fault(line_of(error), str(error))
    return 0


def bound(seconds: float, memory_bytes: int) -> None:
    """Bound this process, where the system can: its time, its memory, and no byte into any file."""
    if sys.platform != "win32":
        import resource  # noqa: PLC0415 - POSIX has it

        cpu_s = math.ceil(seconds)
        resource.setrlimit(resource.RLIMIT_CPU, (cpu_s, cpu_s))
        with suppress(OSError, ValueError):  # not every system lets memory be bounded so
            resource.setrlimit(resource.RLIMIT_AS, (memory_bytes, memory_bytes))
        resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))


def comma(number: object) -> str:
    """A number with a decimal comma."""
    return str(number).replace(".", ",")


def quoted(text: object) -> str:
    """A text as a cell of CSV, always quoted."""
    return '"' + ("" if text is None else str(text)).replace('"', '""') + '"'


def line_of(error: BaseException) -> int:
    """The line of the template that raised; 0 where it is not known."""
    found, trace = 0, error.__traceback__
    while trace is not None:
        if trace.tb_frame.f_code.co_filename == "<template>":
            found = trace.tb_lineno
        trace = trace.tb_next
    return found


def fault(line: int, why: str) -> int:
    """Tell what is wrong; gives the exit code."""
    sys.stderr.write(json.dumps({"line": line, "why": why[:300]}))
    return FAULTY


if __name__ == "__main__":
    sys.exit(main())
