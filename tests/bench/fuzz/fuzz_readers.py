"""Coverage-guided fuzzing of everything that reads a grower's file; run by hand.

    python tests/bench/fuzz/fuzz_readers.py garden WORK_DIR [seconds]

The first word is a key of `targets.TARGETS`. A finding is anything but `BadInput` (or `CropFaults`,
which the garden's reader turns into it): another exception, more than `SLOW` seconds, more than 1.5
GB, or a result that breaks what its type promises. Findings go to WORK_DIR/findings, one file a
kind, with the traceback beside it; the run goes on. Needs atheris, which is no dependency of the
tests.
"""

from __future__ import annotations

import json
import random
import re
import sys
import time
import traceback
from importlib.metadata import version
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["crops", "scheduler"]):
    from targets import HERE, TARGETS, lay_out, seeds

SLOW = 3.0  # CPU seconds for one file of a few kilobytes, under instrumentation
WORDS = HERE / "words.dict"


_TOKEN = re.compile(rb"[^\s,;:{}\[\]]+|\n")


def mutate(data: bytes, most: int, seed: int) -> bytes:
    """Half the time bytes are changed, half the time whole words and lines are moved about.

    Changed bytes alone hardly ever leave a file that passes the first checks.
    """
    dice = random.Random(seed)
    if dice.random() < 0.5 or not data:
        return atheris.Mutate(data, most)
    for _ in range(dice.choice((1, 1, 2, 4))):
        spots = [m.span() for m in _TOKEN.finditer(data)]
        if not spots:
            break
        (a, b), (c, d) = dice.choice(spots), dice.choice(spots)
        how = dice.random()
        if how < 0.35:
            new = data[c:d]
        elif how < 0.7:
            new = dice.choice(DICTIONARY)
        elif how < 0.8:
            new = data[a:b] * 2
        elif how < 0.9:
            new = b""
        else:  # a whole line again, somewhere else
            lines = data.split(b"\n")
            lines.insert(dice.randrange(len(lines) + 1), dice.choice(lines))
            data = b"\n".join(lines)
            continue
        data = data[:a] + new + data[b:]
    return data[:most]


def _words() -> list[bytes]:
    quoted = re.findall(r'^"(.*)"$', WORDS.read_text(), re.MULTILINE)
    return [q.encode().decode("unicode_escape").encode("latin-1") for q in quoted]


DICTIONARY = _words()


class Run:
    """Calls a target again and again and keeps what it finds."""

    def __init__(self, target: str, work: Path) -> None:
        self.call = TARGETS[target]
        self.target = target
        self.place = lay_out(work / "files")
        self.findings = work / "findings"
        for folder in (self.findings, work / "corpus"):
            folder.mkdir(parents=True, exist_ok=True)
        for number, body in enumerate(seeds(target)):
            (work / "corpus" / f"seed-{number}").write_bytes(body)
        self.executions = 0

    def once(self, data: bytes) -> None:
        began = time.process_time()
        self.executions += 1
        try:
            self.call(data, self.place)
        except Exception as error:
            last = traceback.extract_tb(error.__traceback__)[-1]
            kind = f"{type(error).__name__}-{Path(last.filename).stem}-{last.lineno}"
            self.keep(kind, data, "".join(traceback.format_exception(error)))
        seconds = time.process_time() - began
        if seconds > SLOW:
            self.keep(f"slow-{int(seconds)}s", data, f"{seconds:.1f} s\n")

    def keep(self, kind: str, data: bytes, text: str) -> None:
        file = self.findings / f"{self.target}-{kind}"
        if not file.exists():
            file.write_bytes(data)
            file.with_name(file.name + ".txt").write_text(text)
            print(f"FINDING {file.name}", flush=True)


def main() -> None:
    target, work = sys.argv[1], Path(sys.argv[2])
    seconds = int(sys.argv[3]) if len(sys.argv) > 3 else 600
    run = Run(target, work)
    options = [
        sys.argv[0],
        f"-max_total_time={seconds}",
        f"-dict={WORDS}",
        "-max_len=6000",
        "-timeout=30",
        "-rss_limit_mb=1500",
        "-print_final_stats=1",
        f"-artifact_prefix={run.findings}/{target}-",
        str(work / "corpus"),
    ]
    print(
        json.dumps(
            {"target": target, "atheris": version("atheris"), "python": sys.version.split()[0]}
        ),
        flush=True,
    )
    atheris.Setup(options, run.once, custom_mutator=mutate)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
