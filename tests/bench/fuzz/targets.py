"""What is fuzzed: everything that reads a grower's file, and what must hold of each reader.

`fuzz_readers.py` calls these with files that a fuzzer makes, `tests/scheduler/commands/test_fuzz_targets.py`
with the sound files that the fuzzer begins with and those it once found.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

HERE = Path(__file__).parent
ROOT = HERE.parents[2]
SCHEDULER_TESTS = ROOT / "tests" / "scheduler"
sys.path[:0] = [str(ROOT), str(SCHEDULER_TESTS)]

import numpy as np  # noqa: E402
import rebalance_case  # noqa: E402
import verify_case  # noqa: E402

from crops.catalogue import CropFaults, load_crop  # noqa: E402
from crops.climate import weather  # noqa: E402
from scheduler.base.faults import BadInput, DrylineError  # noqa: E402
from scheduler.base.yaml_lines import decode  # noqa: E402
from scheduler.garden.climate_file import MAX_BYTES, daily_rows, read_climate  # noqa: E402
from scheduler.garden.climate_import import import_climate  # noqa: E402
from scheduler.garden.climate_table import table  # noqa: E402
from scheduler.garden.defaults import read_defaults  # noqa: E402
from scheduler.garden.file import garden_sources, load_garden, write_sources  # noqa: E402
from scheduler.log.append import append, append_all  # noqa: E402
from scheduler.log.model import HEADER, read_log  # noqa: E402
from scheduler.log.state import state_on  # noqa: E402
from scheduler.log.typed import rows_of  # noqa: E402
from scheduler.mix.prices_file import read_prices  # noqa: E402

MALFORMED = SCHEDULER_TESTS / "malformed"
BESIDE = ("climate.csv", "tatsoi.yaml")  # files that the garden names


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
    write_sources(copy, garden_sources(file))
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


def station(data: bytes, work: Path) -> None:
    """A climate file as weather services publish them, to a table that is read again."""
    file = work / "station.csv"
    file.write_bytes(data)
    try:
        got = import_climate(file)
    except BadInput as error:
        _told(error)
        return
    except DrylineError as error:
        if not error.text():
            raise Broken("refused without a word") from error
        return
    for frame in (got.monthly, got.daily):
        if frame is not None and not np.isfinite(frame.to_numpy(float)).all():
            raise Broken("a climate that is no number")
    if read_climate(table(got.monthly, got.kind), "climate.csv")[0] is None:
        raise Broken("the table that was made cannot be read")


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
    row = {
        "date": str(verify_case.day(12)),
        "what": "level",
        "column": "B",
        "tier": "1",
        "amount": "9 L",
        "note": data[:40].decode("latin-1"),
    }
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


def typed(data: bytes, work: Path) -> None:
    """Entries in words, one a line: all of them are written, or none."""
    g, plan, today = rebalance_case.garden(), rebalance_case.plan(), verify_case.day(40)
    file = work / "typed.csv"
    file.unlink(missing_ok=True)
    try:
        rows, places = rows_of(g, decode(data, "typed.txt"), "typed.txt", today)
        append_all(file, g, plan, rows, today, places)
    except BadInput as error:
        _told(error)
        if file.exists():
            raise Broken("a refused text was written") from None
        return
    got = read_log(file.read_bytes(), "typed.csv", g)
    if got.faults or len(got.entries) != len(rows):
        raise Broken("what was written cannot be read")
    state_on(g, plan, got, today)


def prices(data: bytes, work: Path) -> None:
    """A table of packets, prices and stock."""
    file = work / "prices.csv"
    file.write_bytes(data)
    try:
        found = read_prices(file, rebalance_case.garden())
    except BadInput as error:
        _told(error)
        return
    for price in found.values():
        if not (0 < price.packet < float("inf") and 0 <= price.have < float("inf")):
            raise Broken(f"a packet of {price.packet}, {price.have} in stock")


def defaults(data: bytes, work: Path) -> None:
    """defaults.yaml of a garden's folder."""
    file = work / "defaults.yaml"
    file.write_bytes(data)
    try:
        found = read_defaults(file)
    except BadInput as error:
        _told(error)
        return
    if not found.keys() <= {"units", "language", "paper", "workers"}:
        raise Broken("a default that no option knows")


TARGETS: dict[str, Callable[[bytes, Path], None]] = {
    "garden": garden,
    "climate": climate,
    "station": station,
    "log": log,
    "typed": typed,
    "crop": crop,
    "prices": prices,
    "defaults": defaults,
}


def seeds(target: str) -> list[bytes]:
    """Sound files to begin with."""
    if target == "garden":
        files = [MALFORMED / "base.yaml", *ROOT.glob("examples/*/garden.yaml")]
    elif target == "climate":
        files = [MALFORMED / "climate.csv", *ROOT.glob("examples/*/climate.csv")]
    elif target == "station":
        days = (date(1990, 1, 1) + timedelta(days=n) for n in range(730))
        rows = [f"X1,{d},{10 + d.month}.5,{d.month}.0" for d in days]
        months = [f"X1,{m:02d},{40 + m},{30 + m}" for m in range(1, 13)]
        return [
            "\n".join(["STATION,DATE,TMAX,TMIN", *rows]).encode(),
            "\n".join(["STATION,DATE,MLY-TMAX-NORMAL,MLY-TMIN-NORMAL", *months]).encode(),
            (MALFORMED / "climate.csv").read_bytes(),
        ]
    elif target == "crop":
        return [
            (MALFORMED / "tatsoi.yaml").read_bytes(),
            *(f.read_bytes() for f in sorted((ROOT / "crops" / "data").glob("*.yaml"))[:3]),
        ]
    elif target == "typed":
        files = []
    elif target == "defaults":
        return [b"units: us\nlanguage: de\npaper: letter\nworkers: 4\n", b"# none\n"]
    elif target == "prices":
        head = "what,packet,unit,price,have\n"
        crop_name = next(iter(rebalance_case.garden().crops))
        salt = rebalance_case.garden().solution.salts[0].name
        return [
            f"{head}{crop_name},300,seeds,2.50,40\n{salt},1,kg,12,\n".encode(),
            f"{head.replace(',', ';')}{crop_name};300;seeds;2,50;\n".encode(),
        ]
    else:
        lines = rebalance_case.full_log(rebalance_case.plan(), verify_case.day(45))
        whole = "\n".join([HEADER, *lines, ""])
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


def lay_out(place: Path) -> Path:
    """A folder to call a target in, with the files a garden names."""
    for folder in (place, place / "copy"):
        folder.mkdir(parents=True, exist_ok=True)
        for name in BESIDE:
            (folder / name).write_bytes((MALFORMED / name).read_bytes())
    return place
