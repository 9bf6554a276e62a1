"""Several processes that log at the same time; run by hand.

    python tests/bench/log_together.py [rounds] [processes]

Every process appends its share of 324 lines as fast as it can, all to one log; then each line must
be there once, whole. Prints how many were written and how long one took.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "scheduler")]

from many_loggers import rows, start  # noqa: E402
from verify_case import garden  # noqa: E402

from scheduler.log.model import read_log_file  # noqa: E402


def once(processes: int) -> tuple[int, int, float]:
    """Lines written, lines lost, seconds from the first line to the end."""
    wanted = Counter((r["date"], r["what"], r["column"], r["tier"]) for r in rows())
    with tempfile.TemporaryDirectory() as name:
        file = Path(name) / "log.csv"
        running = start(file, processes, len(rows()))
        while not file.exists():
            time.sleep(0.001)
        began = time.monotonic()
        ended = [p.wait(600) for p in running]
        seconds = time.monotonic() - began
        assert ended == [0] * processes
        log = read_log_file(file, garden())
        assert not log.faults
        found = Counter((str(e.date), e.what, e.column, str(e.tier)) for e in log.entries)
        assert len(file.read_text().splitlines()) == found.total() + 1
        return wanted.total(), (wanted - found).total() + (found - wanted).total(), seconds


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    processes = int(sys.argv[2]) if len(sys.argv) > 2 else 4
    done = [once(processes) for _ in range(rounds)]
    lines, lost, seconds = (sum(part) for part in zip(*done, strict=True))
    print(
        f"{rounds} rounds of {processes} processes: {lines} lines, {lost} lost or doubled, "
        f"{1000 * seconds / lines:.1f} ms a line"
    )


if __name__ == "__main__":
    main()
