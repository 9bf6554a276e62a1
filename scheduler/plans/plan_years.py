"""The weather years of a plan: those that it was made with, made again from its folder."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.garden.model import Garden
from scheduler.plans.folder import GARDEN_FILE, PAST_FILE
from scheduler.plans.model import Plan

if TYPE_CHECKING:
    import pandas as pd


def expected(
    folder: Path, garden: Garden, plan: Plan, as_of: date | None, most: float | None = None
) -> Garden:
    """The garden with the weather years that a plan was made with; of the mean year none.

    ``as_of``: what lies before has happened, and is the same in every year. ``most``: share of the
    years in which a batch may be lost [0..1], in place of the plan's.
    """
    if plan.years is None:
        return garden
    from scheduler.years.expected import expecting, with_past

    if (folder / PAST_FILE).is_file():  # given with --past, in place of the garden's own
        plain = garden
        garden = with_past(plain, lambda: _past(folder, plain))
    lost = most if most is not None or plan.risk is None else plan.risk.most
    return expecting(garden, plan.years.planned, plan.years.seed, as_of, lost)


def _past(folder: Path, garden: Garden) -> pd.DataFrame:
    from scheduler.garden.past_file import read_past

    return read_past(folder / PAST_FILE, garden, folder / GARDEN_FILE)
