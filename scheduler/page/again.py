"""Planning again while the page stays open: a thread that searches, its progress, its outcome."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from scheduler.base.faults import DrylineError
from scheduler.base.files import write_atomic
from scheduler.garden.model import Garden
from scheduler.log.set_aside import EARLIER
from scheduler.page.background import Background
from scheduler.page.book import Book
from scheduler.plans.model import Plan
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases import Ask, PlannedAgain, plan_again


@dataclass(frozen=True)
class Wish:
    """What the grower asked for: plan from this day, keep the next days, grams for a change."""

    on: date
    freeze: int
    change_grams: float
    seconds: float


class Search(Background):
    """One search.

    Attributes
    ----------
    trial : what is only tried, in words, and cannot be accepted; empty: a new plan.
    outcome : the new plan, once it is done and passes every check.
    """

    trial = ""
    garden_text: bytes | None = None  # garden.yaml, where it is changed with the plan

    def __init__(self, book: Book, wish: Wish, settings: Settings) -> None:
        super().__init__("plan again")
        season = book.season()
        self.book, self.wish = book, wish
        self.garden: Garden = season.garden
        self.plan: Plan = season.plan
        self.log_seen = book.log_bytes()
        self.log = book.log()
        self.settings = replace(settings, time_limit=wish.seconds)
        self.outcome: PlannedAgain | None = None

    def ask(self) -> Ask:
        """What is asked of the search."""
        return Ask(self.wish.on, self.wish.freeze, self.wish.change_grams)

    def work(self) -> PlannedAgain:
        """The new plan.

        Raises
        ------
        DrylineError
            There is none, with the reason.
        """
        return plan_again(
            self.book.folder,
            self.garden,
            self.plan,
            self.log,
            self.ask(),
            self.settings,
            self.report,
            self.halt,
            self.book.today(),
        )

    def do(self) -> None:
        self.outcome = self.work()


class Desk:
    """The one search there is at a time, and what becomes of its outcome."""

    def __init__(self, book: Book, settings: Settings) -> None:
        self.book, self.settings = book, settings
        self.search: Search | None = None
        self._lock = threading.Lock()

    def start(self, make: Callable[[Book, Settings], Search]) -> bool:
        """Begin a search; False if one runs already."""
        with self._lock:
            if self.search is not None and self.search.is_alive():
                return False
            self.search = make(self.book, self.settings)
            self.search.start()
            return True

    def halt(self) -> None:
        """End the search soon, with the best found so far."""
        if self.search is not None:
            self.search.halt.set()

    def discard(self) -> None:
        """Forget the outcome; a search that runs is ended and forgotten too."""
        with self._lock:
            self.halt()
            self.search = None

    def accept(self) -> Path:
        """Take the new plan into the folder; the plan before is set aside whole, and named.

        Raises
        ------
        DrylineError
            Nothing to accept, or plan or log have changed since the search began.
        """
        with self._lock:
            search = self.search
            if search is None or search.outcome is None:
                raise DrylineError("there is no new plan to accept")
            if search.trial:
                raise DrylineError("this was only tried; the plan you know stays as it is")
            if self.book.season().plan != search.plan:
                raise DrylineError("the plan in the folder is another one now; plan again")
            if self.book.log_bytes() != search.log_seen:
                raise DrylineError("the log has changed since; plan again, so that it counts")
            aside = take(self.book.folder, search)
            self.search = None
            return aside


def take(folder: Path, search: Search) -> Path:
    """Write the outcome of a search into the folder; where the plan before was put."""
    from scheduler.plans.folder import GARDEN_FILE, LOG_FILE, write_plan_dir
    from scheduler.usecases import files_again, season_sources

    again, garden = search.outcome, search.garden
    assert again is not None
    sources = season_sources(folder, garden)
    day = search.wish.on.isoformat()
    aside = folder / EARLIER / f"before-{day}"
    number = 2
    while aside.exists():
        aside, number = folder / EARLIER / f"before-{day}-{number}", number + 1
    write_plan_dir(aside, search.plan, sources)
    write_atomic(aside / LOG_FILE, search.log_seen)
    if search.garden_text is not None:
        sources = {**sources, GARDEN_FILE: search.garden_text}
    write_plan_dir(folder, again.done.plan, sources, files_again(garden, again, folder))
    return aside
