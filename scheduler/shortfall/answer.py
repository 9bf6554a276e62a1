"""What holds a plan back and what each change brings: the answer, as plain data."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date

from scheduler.garden.model import Garden
from scheduler.garden.weekly import wish
from scheduler.plans.model import Plan
from scheduler.schedule.assemble import serve
from scheduler.shortfall.live_again import Eaten
from scheduler.shortfall.paired import Paired
from scheduler.shortfall.reach import Reach
from scheduler.shortfall.relaxation import Relaxation

# What came of a relaxation.
HELPS = "helps"  # more than any plan of the garden as it is can give; over years: more, for sure
FOUND = "too close to call"  # more was found, but within what is not known of the garden as it is
NOTHING = "nothing found"
CANNOT = "cannot help"  # proven: not by so much as `LEAST`
UNTRIED = "not tried"

LEAST = 0.001  # share of the wish that is worth telling

Say = Callable[[str, int, int], None]  # what is done, how many so far, of how many


@dataclass(frozen=True)
class Tried:
    """A relaxation and what it brings.

    Attributes
    ----------
    gain : found and verified, weighted [g]; sure : the part of it that no plan of the garden as it
        is can have; most : no plan brings more, None if not known.
    groups : grams more (or less) of each wish met.
    dates : days on which the plan found does what the garden as it is forbids; times : how often;
        amount : by how much at most, in the unit of the rule.
    paired : where plans are lived, the difference year by year; ``gain`` is its mean, ``sure`` what
        the mean over all such years exceeds, and both are 0 where it cannot be told from none.
    """

    relaxation: Relaxation
    outcome: str = UNTRIED
    gain: float = 0.0
    sure: float = 0.0
    most: float | None = None
    groups: dict[str, int] = field(default_factory=dict)
    dates: tuple[date, ...] = ()
    times: int = 0
    amount: float = 0.0
    seconds: float = 0.0
    broken: tuple[str, ...] = ()
    plan: Plan | None = None
    paired: Paired | None = None


@dataclass(frozen=True)
class OverYears:
    """Where plans are lived: the years, and what the garden as it is brings in them.

    Attributes
    ----------
    planned : years to search in; judged : apart from them, to tell in, ``real`` of them past years.
    usual : weighted grams of the best plan in a usual year, the median [g].
    searches : of the garden as it is, alike but for chance; apart : by how much the best and the
        worst of them differ [weighted g], None with fewer than two. What a change brings less than
        that may be chance.
    eaten : of the best plan.
    """

    planned: int
    judged: int
    real: int
    usual: float
    searches: int
    apart: float | None
    eaten: Eaten


@dataclass(frozen=True)
class MustGive:
    """The whole answer.

    Attributes
    ----------
    plan : the best of the garden as it is; value : its produce, wish : all wishes [weighted g].
    given : produce of the plan that was handed in; None where there was none.
    bound : no plan of the garden as it is is worth more; None if not known.
    steps, rules : one step of each, each rule dropped; what helps most comes first.
    seconds : of each search at most.
    over : where plans are lived; None: they are worth what they bring in the weather to be
        expected. Values are means over the years then, and no bound is known.
    large : the plan was made for years, and the garden has too many tiers to live each change.
    """

    garden: Garden
    plan: Plan
    value: float
    wish: float
    given: float | None
    bound: float | None
    reach: tuple[Reach, ...]
    steps: tuple[Tried, ...] = ()
    rules: tuple[Tried, ...] = ()
    seconds: float = 0.0
    over: OverYears | None = None
    large: bool = False

    @property
    def met(self) -> bool:
        """Whether every wish is met; over years but for what is not worth telling."""
        return self.value >= self.wish - (0.5 if self.over is None else LEAST * self.wish)


@dataclass(frozen=True)
class Lack:
    """A week's wish that is not met: by how much [g], over years on the mean.

    ``years`` : share of the years in which it is not met in full [0..1]; None: not lived.
    """

    group: str
    week: str
    grams: float
    years: float | None = None


def served(m: MustGive) -> dict[tuple[str, str], float]:
    """What comes to the table by group and week [g], over years on the mean."""
    if m.over is not None:
        return m.over.eaten.served
    return dict(serve(m.garden, m.plan.batches).served)


def unmet(m: MustGive) -> list[Lack]:
    """Wishes that are not met, group by group, week by week."""
    if m.over is None:
        return [Lack(u.group, u.week, u.grams) for u in serve(m.garden, m.plan.batches).unmet()]
    eaten, wished = m.over.eaten, wish(m.garden)
    return [
        Lack(*key, wished[key] - eaten.served[key], years)
        for key, years in eaten.short.items()
        if years > 0
    ]
