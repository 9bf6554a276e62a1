"""Coverage-guided fuzzing of everything that reads a grower's file; run by hand.

    python tests/bench/fuzz/fuzz_readers.py garden WORK_DIR [seconds]

The first word is a key of `TARGETS`. A finding is anything but `BadInput` (or `CropFaults`, which
the garden's reader turns into it): another exception, more than `SLOW` seconds, more than 1 GB, or
a result that breaks what its type promises. Findings go to WORK_DIR/findings, one file a kind, with
the traceback beside it; the run goes on. Needs atheris, which is no dependency of the tests.
"""

from __future__ import annotations

import json
import random
import re
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path

import atheris

HERE = Path(__file__).parent
SCHEDULER_TESTS = HERE.parents[1] / "scheduler"
sys.path[:0] = [str(HERE.parents[2]), str(SCHEDULER_TESTS)]

with atheris.instrument_imports(include=["crops", "scheduler"]):
    import numpy as np
    import rebalance_case
    import verify_case

    from crops.catalogue import CropFaults, load_crop
    from crops.climate import weather
    from scheduler.climate_file import MAX_BYTES, daily_rows, read_climate
    from scheduler.faults import BadInput
    from scheduler.garden_file import garden_sources, load_garden
    from scheduler.log import read_log
    from scheduler.log_append import append
    from scheduler.state import state_on
    from scheduler.yaml_lines import decode

SLOW = 3.0  # CPU seconds for one file of a few kilobytes, under instrumentation
MALFORMED = SCHEDULER_TESTS / "malformed"
WORDS = HERE / "words.dict"


class Broken(Exception):
    """A reader took the file, and gave what it must not."""


def garden(data: bytes, work: Path) -> None:
    """garden.yaml beside a sound climate table and crop file."""
    file = work / "garden.yaml"
    file.write_bytes(data)
    try:
        got = load_garden(file)
    except BadInput as error:
        _told(error)
        return
    if not np.isfinite(got.site.weather.to_numpy(float)).all():
        raise Broken("weather that is no number")
    copy = work / "copy"
    copy.mkdir(exist_ok=True)
    for name, body in garden_sources(file).items():
        (copy / name).write_bytes(body)
    again = load_garden(copy / "garden.yaml")
    if (again.columns, again.crops, again.demands) != (got.columns, got.crops, got.demands):
        raise Broken("the copy in a plan's folder is another garden")


def climate(data: bytes, work: Path) -> None:
    """A climate table, to the weather of a season."""
    try:
        frame, faults = read_climate(decode(data, "climate.csv", MAX_BYTES), "climate.csv")
    except BadInput as error:
        _told(error)
        return
    if frame is None:
        _told(BadInput(faults))
        return
    start, end = verify_case.day(0), verify_case.day(180)
    rows, _ = daily_rows(frame, start, end)
    if rows is not None and not np.isfinite(weather(rows, 44.1, 180.0).to_numpy(float)).all():
        raise Broken("weather that is no number")


def log(data: bytes, work: Path) -> None:
    """A log, read and fitted to a plan; and a line added to it."""
    g, plan = rebalance_case.garden(), rebalance_case.plan()
    try:
        got = read_log(data, "log.csv", g)
        state_on(g, plan, got, verify_case.day(40))
    except BadInput as error:
        _told(error)
    if not data or data[-1] % 4:
        return  # a line is added to every fourth
    file = work / "log.csv"
    file.write_bytes(data)
    row = {"date": str(verify_case.day(12)), "what": "level", "column": "B", "tier": "1",
           "amount": "9 L", "note": data[:40].decode("latin-1")}  # fmt: skip
    try:
        append(file, g, plan, row, verify_case.day(40))
    except BadInput as error:
        _told(error)
        if file.read_bytes() != data:
            raise Broken("a refused line changed the file") from None
        return
    if not file.read_bytes().startswith(data):
        raise Broken("an added line changed those before it")


def crop(data: bytes, work: Path) -> None:
    """A grower's own crop file."""
    try:
        load_crop(decode(data, "crop.yaml"))
    except (CropFaults, BadInput) as error:
        if not error.faults:
            raise Broken("refused without a fault") from error


TARGETS: dict[str, Callable[[bytes, Path], None]] = {
    "garden": garden, "climate": climate, "log": log, "crop": crop,
}  # fmt: skip


def seeds(target: str) -> list[bytes]:
    """Sound files to begin with."""
    root = HERE.parents[2]
    if target == "garden":
        files = [MALFORMED / "base.yaml", *root.glob("examples/*/garden.yaml")]
    elif target == "climate":
        files = [MALFORMED / "climate.csv", *root.glob("examples/*/climate.csv")]
    elif target == "crop":
        return [(MALFORMED / "tatsoi.yaml").read_bytes(),
                *(f.read_bytes() for f in sorted((root / "crops" / "data").glob("*.yaml"))[:3])]  # fmt: skip
    else:
        lines = rebalance_case.full_log(rebalance_case.plan(), verify_case.day(45))
        whole = "\n".join(["date,what,column,tier,crop,amount,unit,note", *lines, ""])
        files = sorted(HERE.glob("log-*.csv"))
        return [whole.encode(), *(f.read_bytes() for f in files)]
    return [f.read_bytes() for f in files] + [
        f.read_bytes() for f in sorted(HERE.glob(f"{target}-*"))
    ]


def _told(error: BadInput) -> None:
    """Every fault says where and what was expected, in one short line."""
    if not error.faults:
        raise Broken("refused without a fault") from error
    for fault in error.faults:
        if not fault.expected or "\n" in fault.text():
            raise Broken(f"a fault that does not tell: {fault.text()!r}") from error


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
        self.place = work / "files"
        self.findings = work / "findings"
        for folder in (self.place, self.findings, work / "corpus"):
            folder.mkdir(parents=True, exist_ok=True)
        for name in ("climate.csv", "tatsoi.yaml"):
            for folder in (self.place, self.place / "copy"):
                folder.mkdir(exist_ok=True)
                (folder / name).write_bytes((MALFORMED / name).read_bytes())
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
        sys.argv[0], f"-max_total_time={seconds}", f"-dict={WORDS}", "-max_len=6000",
        "-timeout=30", "-rss_limit_mb=1500", "-print_final_stats=1",
        f"-artifact_prefix={run.findings}/{target}-", str(work / "corpus"),
    ]  # fmt: skip
    print(json.dumps({"target": target, "atheris": str(getattr(atheris, "__version__", "3")),
                      "python": sys.version.split()[0]}), flush=True)  # fmt: skip
    atheris.Setup(options, run.once, custom_mutator=mutate)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
