"""Where the checkout's own files lie, for tests that read them."""

from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
VECTORS = ROOT / "tests" / "vectors"
