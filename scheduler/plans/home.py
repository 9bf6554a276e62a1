"""One garden folder: the garden, its weather and its numbered plans, of which one is current.

    garden.yaml, climate.csv, ...   as the grower writes them
    defaults.yaml                   units, language, paper, workers, if any (`garden.defaults`)
    plans/1, plans/2, ...           each a plan, complete by itself: its garden, weather, log
    plans/current                   the number of the one that counts

A number is given once: planning again writes beside the plans there are, never over one. A folder
``season`` of an earlier version, or of `dryline start`, is the plan before those.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from scheduler.base.faults import BadInput
from scheduler.base.files import write_atomic
from scheduler.plans.folder import GARDEN_FILE, PLAN_FILE, holds_plan, read_plan

PLANS, CURRENT, SEASON = "plans", "current", "season"


def is_home(folder: Path) -> bool:
    """Whether a folder has a garden that is not the copy beside a plan."""
    return (folder / GARDEN_FILE).is_file() and not (folder / PLAN_FILE).exists()


def home_of(place: Path) -> Path | None:
    """The garden's folder that a place is, or lies in; None where there is none."""
    if is_home(place):
        return place
    return next((folder for folder in place.absolute().parents if is_home(folder)), None)


def plan_at(place: Path) -> Path:
    """The plan's folder that is meant: the place itself, or the current plan of a garden's folder.

    Of the folder that one stands in (``.``) it may be that of a folder above, too. Where neither
    has a plan the place itself, for what reads it to say so.
    """
    if not place.is_dir() or holds_plan(place):
        return place
    home = home_of(place) if place == Path() else place if is_home(place) else None
    found = None if home is None else current(home)
    if found is None and place == Path():  # an earlier version's, without a garden beside it
        season = place / SEASON
        found = season if season.is_dir() and holds_plan(season) else None
    return place if found is None else found


def current(home: Path) -> Path | None:
    """The plan that counts: the one named, else the one with the highest number, else season."""
    with suppress(OSError, ValueError):
        named = home / PLANS / str(int((home / PLANS / CURRENT).read_text("utf-8")))
        if holds_plan(named):
            return named
    for number in reversed(_numbers(home)):
        if holds_plan(home / PLANS / str(number)):
            return home / PLANS / str(number)
    season = home / SEASON
    return season if season.is_dir() and holds_plan(season) else None


def is_current(place: Path) -> bool:
    """Whether a plan's folder is the one that counts of a garden's."""
    whole = place.absolute()
    homes = [f for f in whole.parents[:2] if is_home(f)]
    return any(current(home) == whole for home in homes)


@contextmanager
def new_place(home: Path) -> Iterator[Path]:
    """An empty folder with the next number, for a plan to be written into; then it is current.

    Taken at once, so that two who plan at a time get a number each; given back if nothing is
    written into it.
    """
    number = max([*_numbers(home), _of_season(home)]) + 1
    (home / PLANS).mkdir(exist_ok=True)
    while True:
        place = home / PLANS / str(number)
        try:
            place.mkdir()
            break
        except FileExistsError:
            number += 1
    try:
        yield place
    finally:
        if holds_plan(place):
            make_current(home, place)
        else:
            for folder in (place, home / PLANS):
                with suppress(OSError):  # not empty: it stays
                    folder.rmdir()


def make_current(home: Path, place: Path) -> None:
    """From now on this plan of the garden counts."""
    write_atomic(home / PLANS / CURRENT, f"{place.name}\n")


def _numbers(home: Path) -> list[int]:
    if not (home / PLANS).is_dir():
        return []
    names = [p.name for p in (home / PLANS).iterdir() if p.is_dir()]
    return sorted(int(n) for n in names if n.isascii() and n.isdigit())


def _of_season(home: Path) -> int:
    """Number of the plan in the folder season; 0 where there is none."""
    season = home / SEASON
    if not season.is_dir() or not holds_plan(season):
        return 0
    with suppress(BadInput):
        return max(read_plan(season).number, 1)
    return 1
