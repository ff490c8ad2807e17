"""The pictures of the live screen that tests compare, written anew:

    python -m tests.daq.cli.views.make_screens

Look at each before it is committed: what has changed there is what people will see.
"""

from tests.daq.cli.views.shown_sessions import MOMENTS, PICTURES, SIZES, picture


def main() -> None:
    """Write all of them."""
    PICTURES.mkdir(exist_ok=True)
    for old in PICTURES.glob("*.txt"):
        old.unlink()
    for name in MOMENTS:
        text = "\n".join(picture(name, *size) for size in SIZES)
        (PICTURES / f"{name}.txt").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
