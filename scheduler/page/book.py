"""The plan's folder as the page reads it: garden, plan, work and log, fresh at every request."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from scheduler.base.faults import BadInput
from scheduler.garden.model import INPUTS, Garden
from scheduler.log.model import HEADER, Log, read_log, read_log_file
from scheduler.outputs.act import with_act
from scheduler.outputs.work import Work, work_items
from scheduler.plans.folder import LOG_FILE, read_plan_dir
from scheduler.plans.model import Plan
from scheduler.watch.forecast import Foretold, read
from scheduler.words.words import Units

Stamp = tuple[tuple[str, int, int], ...]


@dataclass(frozen=True)
class Season:
    """What stands in the folder now.

    ``units`` are the grower's; ``foretold`` is the table that readings are answered from.
    """

    garden: Garden
    plan: Plan
    items: tuple[Work, ...]
    units: Units
    foretold: Foretold


class Book:
    """A plan's folder.

    Parameters
    ----------
    today : tells the day; the clock's unless one is given for a trial.
    units : ``metric`` or ``us`` instead of the garden's.
    """

    def __init__(
        self, folder: Path, today: Callable[[], date] = date.today, units: str | None = None
    ) -> None:
        self.folder, self.today, self.units = folder, today, units
        self.log_file = folder / LOG_FILE
        self._known: tuple[Stamp, Season] | None = None
        self._lock = threading.Lock()

    def season(self) -> Season:
        """Garden, plan and work, read again when a file of the folder has changed.

        Raises
        ------
        BadInput
            Every fault of the plan or its garden.
        """
        with self._lock:
            stamp = self._stamp()
            if self._known is None or self._known[0] != stamp:
                garden, plan = read_plan_dir(self.folder)
                from scheduler.plans.places import check_places

                check_places(garden, plan, str(self.folder / "plan.json"))
                units = Units(self.units or garden.units)
                table = read(self.folder, plan)
                items = with_act(plan, work_items(garden, plan), table)
                season = Season(garden, plan, items, units, table)
                self._known = (self._stamp(), season)
            return self._known[1]

    def _stamp(self) -> Stamp:
        files = [p for p in self.folder.iterdir() if p.is_file() and p.name[0] != "."]
        if (self.folder / INPUTS).is_dir():
            files += (self.folder / INPUTS).iterdir()
        return tuple(
            sorted(
                (p.name, (s := p.stat()).st_mtime_ns, s.st_size)
                for p in files
                if (p.suffix in (".json", ".yaml", ".csv") and p.name != LOG_FILE)
                or p.parent.name == INPUTS
            )
        )

    def log(self) -> Log:
        """The log; an empty one where there is no file yet, faults and all."""
        if not self.log_file.exists():
            return read_log(f"{HEADER}\n".encode(), str(self.log_file))
        try:
            return read_log_file(self.log_file, self.season().garden)
        except BadInput as error:
            return Log(str(self.log_file), (), error.faults)

    def log_bytes(self) -> bytes:
        """The log as it stands, to tell later whether it has changed."""
        return self.log_file.read_bytes() if self.log_file.exists() else b""
