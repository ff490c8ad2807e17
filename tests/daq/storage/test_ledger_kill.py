"""A writer killed at any moment: what it acknowledged is on the disk, the next one carries on."""

import subprocess
import sys
from pathlib import Path

from daq.storage.ledger import Ledger, scan
from tests.places import ROOT

FOLDERS, KILLS_EACH = 15, 6


def test_90_kills_lose_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-m", "tests.daq.storage.appender", "serve"],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as server:
        assert server.stdin is not None
        assert server.stdout is not None
        torn, kills = 0, 0
        for number in range(FOLDERS):
            folder = tmp_path / f"s{number}"
            known = 0
            for kill in range(KILLS_EACH):
                server.stdin.write(f"{folder}\t{number * 1000 + kill}\n")
                server.stdin.flush()
                acknowledged = [int(word) for word in server.stdout.readline().split()]
                kills += 1
                assert acknowledged
                found = scan(folder)  # raises if any line is not what was written
                there = [entry.seq for entry in found.entries]
                assert there == list(range(1, len(there) + 1))
                assert acknowledged[-1] <= there[-1]
                assert acknowledged[0] > known, "a writer began behind what was there"
                known = acknowledged[-1]
                torn += bool(found.torn)
            ledger, again, _ = Ledger.open(folder)
            ledger.close()
            assert [entry.seq for entry in again.entries] == there
            assert scan(folder).torn == b""
        server.stdin.close()
        assert server.wait(timeout=10) == 0
    assert kills == 90
