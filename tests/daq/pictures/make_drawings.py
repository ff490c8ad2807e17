"""The drawings that tests compare, written anew:

    python -m tests.daq.pictures.make_drawings

Look at each before it is committed: what has changed there is what people will see.
"""

from tests.daq.pictures.drawn_sessions import DRAWINGS, MOMENTS


def main() -> None:
    """Write all of them."""
    DRAWINGS.mkdir(exist_ok=True)
    for old in DRAWINGS.glob("*.svg"):
        old.unlink()
    for name, made in MOMENTS.items():
        (DRAWINGS / f"{name}.svg").write_text(made(), encoding="utf-8")


if __name__ == "__main__":
    main()
