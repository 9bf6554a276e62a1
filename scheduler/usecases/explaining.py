"""What holds a plan back and what would help: from a plan's folder, a garden file or in hand."""

from __future__ import annotations

import threading
import time
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.usecases.planning import plan_season

if TYPE_CHECKING:
    from scheduler.garden.model import Garden
    from scheduler.garden.season_weather import WeatherOf
    from scheduler.plans.model import Plan
    from scheduler.shortfall.answer import MustGive, Say
    from scheduler.solvers.cp_sat import Settings


@dataclass(frozen=True)
class Explained:
    """What holds a plan back.

    Attributes
    ----------
    found : every rule dropped and every small change, solved anew from the plan and verified.
    against : by crop that can be picked nowhere, what stands against it.
    """

    found: MustGive
    against: Mapping[str, str]

    def lines(self) -> list[str]:
        """The answer for a grower, in lines of at most 79 characters."""
        from scheduler.shortfall.text import lines

        return lines(self.found, dict(self.against))

    def data(self) -> dict[str, object]:
        """The same for machines, as the command prints it as JSON."""
        from scheduler.shortfall.data import data

        return data(self.found, dict(self.against))


def explain_plan(
    of: str | Path | Garden,
    settings: Settings,
    say: Say | None = None,
    stop: threading.Event | None = None,
    plan: Plan | None = None,
    as_planned: bool = False,
    years: int = 0,
) -> Explained:
    """Tell which rule holds a plan back, by how much, and which small change would help most.

    Parameters
    ----------
    of : a plan's folder; or a garden.yaml or a garden, of which a plan is made first, in a third
        of the time.
    settings : ``time_limit`` is for everything; ``workers`` gardens are solved side by side.
    say : told of each step; stop : ends the search, and what is known so far is the answer.
    plan : of a garden in hand; then none is made.
    as_planned : search with the seed of the plan, not with that of ``settings``.
    years : weather years to plan with, where a plan is made first; 0: the mean year.

    A plan that was made for years is judged over years (`shortfall.over_years`).

    Raises
    ------
    BadInput
        Every fault of the plan or the garden.
    NoPlan
        No plan gives anything; with the rules that stand against it and what would help.
    OutOfTime
        None was found in the time.
    DrylineError
        The season is under way, or the plan breaks a rule: nothing can be compared with it.
    """
    from scheduler.shortfall.live_again import Ahead
    from scheduler.shortfall.must_give import must_give
    from scheduler.shortfall.reach import against
    from scheduler.words.words import Units

    began = time.monotonic()
    garden, plan, weather = _begin(of, plan, settings, stop, say or (lambda *_: None), years)
    seed = plan.seed if as_planned else settings.seed
    left = max(settings.time_limit - (time.monotonic() - began), 0.1)
    y = plan.years
    found = must_give(
        garden,
        plan,
        replace(settings, seed=seed, time_limit=left),
        weather,
        say,
        stop,
        ahead=None if y is None else Ahead(y.planned, y.seed, y.worth),
    )
    nowhere = [
        n
        for r in found.reach
        if r.grams
        for d in garden.demands
        if d.group == r.group
        for n in d.crops
        if n not in r.crops
    ]
    return Explained(found, against(garden, nowhere, Units(garden.units)))


def _begin(
    of: str | Path | Garden,
    plan: Plan | None,
    settings: Settings,
    stop: threading.Event | None,
    say: Say,
    years: int,
) -> tuple[Garden, Plan, WeatherOf]:
    """The garden, a plan of it that keeps every rule, and the weather of its site."""
    from scheduler.base.faults import DrylineError
    from scheduler.garden.file import load_garden
    from scheduler.garden.model import Garden
    from scheduler.garden.season_weather import weather_in_hand, weather_of
    from scheduler.plans.folder import GARDEN_FILE, read_plan_dir
    from scheduler.shortfall.no_plan import refuse_empty
    from scheduler.verify import verify

    begun = "something stands in this garden already; shortfall is for a season that begins with "
    begun += "empty tiers"
    if plan is None and (isinstance(of, Garden) or not Path(of).is_dir()):
        in_hand = of if isinstance(of, Garden) else load_garden(of)
        if in_hand.today is not None:
            raise DrylineError(f"{of if of is not in_hand else in_hand.name}: {begun}")
        say("a plan of the garden as it is", 0, 1)
        part = replace(settings, time_limit=settings.time_limit / 3)
        made = plan_season(of, part, stop=stop, years=years)
        return made.garden, made.plan, _expecting(made.garden, made.weather, made.plan)
    if isinstance(of, Garden):
        assert plan is not None
        garden, weather, where = of, weather_in_hand(of), of.name
    else:
        garden, plan = read_plan_dir(Path(of))
        weather, where = weather_of(Path(of) / GARDEN_FILE), str(of)
        weather = _expecting(garden, weather, plan)
    if plan.as_of is not None and plan.as_of == garden.today:
        raise DrylineError(f"{where}: {begun}")
    if plan.as_of is not None:
        raise DrylineError(
            f"{where}: this season is under way (planned again on {plan.as_of}); shortfall is "
            "for a season that has not begun. dryline rebalance plans what is left of it"
        )
    verdict = verify(garden, plan)
    if not verdict.ok:
        from scheduler.verify.text import lines as broken

        head = "this plan breaks a rule, so nothing can be compared with it:"
        raise DrylineError("\n".join([head, *broken(verdict, garden.units)]))
    if not plan.batches:
        refuse_empty(garden, plan, weather)
    return garden, plan, weather


def _expecting(garden: Garden, weather: WeatherOf, plan: Plan) -> WeatherOf:
    """Weather of other days, with the years that the plan was made with."""
    from scheduler.years.expected import expecting_weather

    if plan.years is None or not plan.years.planned:
        return weather
    lost = None if plan.risk is None else plan.risk.most
    return expecting_weather(garden, weather, plan.years.planned, plan.years.seed, lost)
