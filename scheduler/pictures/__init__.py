"""Pictures of a plan and of its sowing windows, as matplotlib figures, PNG or SVG.

Drawn like a sheet in a notebook: paper, pencil, tier tags. Every difference in colour is also one
in strokes, letters or shape, so that they read in black and white. Needs the extra ``plots``::

    from scheduler.pictures import draw, save

    for figure in draw("season", garden, plan):
        data = save(figure, "png")
"""

from __future__ import annotations

import importlib.util
from collections.abc import Sequence
from typing import TYPE_CHECKING

from scheduler.base.faults import DrylineError

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from scheduler.batches.ready_years import ReadyYears
    from scheduler.batches.windows import SowWindows
    from scheduler.garden.model import Garden
    from scheduler.plans.model import Plan
    from scheduler.words.words import Units

SUBJECTS = ("season", "levels", "nursery", "produce", "work", "windows")


class NoPlots(DrylineError):
    """The extra that draws is not installed."""

    exit_code = 2


def require_plots() -> None:
    """Raise NoPlots, with the line that installs it, where matplotlib is missing."""
    if importlib.util.find_spec("matplotlib") is None:
        raise NoPlots(
            "pictures need matplotlib, which is not installed; install it with\n"
            "    pip install 'dryline[plots]'"
        )


def draw(
    what: str,
    garden: Garden,
    plan: Plan,
    units: Units | None = None,
    columns: Sequence[str] = (),
) -> list[Figure]:
    """The sheets of one picture; most pictures have one, large gardens more.

    Parameters
    ----------
    what : one of `SUBJECTS`.
    units : the grower's (default: the garden's).
    columns : season and levels: only these columns (default: all).

    Raises
    ------
    NoPlots
        Matplotlib is not installed.
    ValueError
        ``what`` is none of `SUBJECTS`.
    """
    require_plots()
    from scheduler.words.words import Units

    units = units or Units(garden.units)
    if what == "season":
        from scheduler.pictures.season import season

        return season(garden, plan, columns)
    if what == "levels":
        from scheduler.pictures.levels import levels

        return levels(garden, plan, units, columns)
    if what == "nursery":
        from scheduler.pictures.nursery import nursery

        return [nursery(garden, plan)]
    if what == "produce":
        from scheduler.pictures.produce import produce

        return [produce(garden, plan, units)]
    if what == "work":
        from scheduler.pictures.work import work

        return [work(garden, plan)]
    if what == "windows":
        from scheduler.batches.windows import sow_windows

        return [windows_picture(garden, sow_windows(garden), plan)]
    raise ValueError(f"no picture {what!r}; expected one of {', '.join(SUBJECTS)}")


def windows_picture(
    garden: Garden, windows: Sequence[SowWindows], plan: Plan | None = None
) -> Figure:
    """The heat map of sowing windows: one panel a kind of tier, crops down, sow dates across.

    With ``plan`` it carries that plan's number and day, as the sheets it is printed with do.

    Raises
    ------
    NoPlots
        Matplotlib is not installed.
    """
    require_plots()
    from scheduler.pictures.windows import heat_map

    return heat_map(garden, windows, plan)


def ready_years_picture(garden: Garden, found: Sequence[ReadyYears]) -> Figure:
    """How long each crop takes in each weather year: a panel a crop, planting days across.

    Raises
    ------
    NoPlots
        Matplotlib is not installed.
    """
    require_plots()
    from scheduler.pictures.ready_years import ready_picture

    return ready_picture(garden, found)


def save(figure: Figure, form: str) -> bytes:
    """The figure as ``png`` or ``svg``; the same figure gives the same bytes."""
    from scheduler.pictures.look import to_bytes

    return to_bytes(figure, form)
