"""What options share: a share written ``5%`` or ``0.05``, and how many threads there may be."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click
from click.shell_completion import CompletionItem

from scheduler.years import PLANNED

MOST_THREADS = 256
MOST_SEED = 2**31 - 1
LONGEST = 86400  # seconds of a search
F = TypeVar("F", bound=Callable[..., Any])


class Share(click.ParamType):  # type: ignore[type-arg]  # generic in newer releases only
    """A share of 0 to 1; a plain number above 1 is refused, since 5 could mean 5 or 500 %."""

    name = "share"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        if isinstance(value, float):
            return value
        text = str(value).strip()
        percent = text.endswith("%")
        try:
            number = float(text.rstrip("% ")) / (100 if percent else 1)
        except ValueError:
            number = -1.0
        if not 0 <= number <= 1:
            self.fail(f"{text!r} is no share; expected one such as 5% or 0.05", param, ctx)
        return number


class Threads(click.IntRange):
    """Threads or processes: at most the cores this machine lets us use, and told where fewer are.

    More than cores only take time from each other.
    """

    def __init__(self) -> None:
        super().__init__(1, MOST_THREADS)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        wanted: int = super().convert(value, param, ctx)
        there = cores()
        by_hand = (
            ctx is None
            or param is None
            or param.name is None
            or (ctx.get_parameter_source(param.name) == click.core.ParameterSource.COMMANDLINE)
        )
        if wanted > there and by_hand:
            click.echo(
                f"--workers {wanted}: this machine has {there} core"
                f"{'s' if there > 1 else ''}, so {there} are used",
                err=True,
            )
        return min(wanted, there)


class PlanDir(click.ParamType):  # type: ignore[type-arg]  # generic in newer releases only
    """A plan's folder, or a garden's: then its current plan (`scheduler.plans.home`)."""

    name = "path"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        from scheduler.plans.home import plan_at

        return plan_at(Path(value))

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        return click.Path().shell_complete(ctx, param, incomplete)


def plan_argument() -> Callable[[F], F]:
    """``DIR``, a `Path`: without it the plan of the garden that one stands in."""
    return click.argument("folder", metavar="[DIR]", default=".", type=PlanDir())


def time_limit_option(seconds: float, help: str = "seconds to search") -> Callable[[F], F]:
    """``--time-limit``: how long to search [s], ``seconds`` unless given."""
    return click.option(
        "--time-limit",
        metavar="S",
        default=seconds,
        show_default=True,
        type=click.FloatRange(0.1, LONGEST),
        help=help,
    )


def gap_option(help: str = "stop when within this share of the proven best") -> Callable[[F], F]:
    """``--gap``: the search ends when no plan can be better by more than this share."""
    return click.option(
        "--gap",
        metavar="G",
        default=0.01,
        show_default=True,
        type=click.FloatRange(0, 1),
        help=help,
    )


def seed_option(help: str = "random seed") -> Callable[[F], F]:
    """``--seed`` of a new plan."""
    return click.option(
        "--seed", metavar="N", default=0, type=click.IntRange(0, MOST_SEED), help=help
    )


def own_seed_option() -> Callable[[F], F]:
    """``--seed`` of what is asked about a plan: None unless given."""
    return click.option(
        "--seed",
        metavar="N",
        type=click.IntRange(0, MOST_SEED),
        help="random seed; the plan's own unless given",
    )


def workers_option(help: str = "threads of the search") -> Callable[[F], F]:
    """``--workers``: how much runs at once."""
    return click.option(
        "--workers", metavar="N", default=2, show_default=True, type=Threads(), help=help
    )


def change_option(grams: float, help: str) -> Callable[[F], F]:
    """``--change``: what a change of a plan must bring [g], ``grams`` unless given."""
    return click.option(
        "--change",
        metavar="G",
        default=grams,
        show_default=True,
        type=click.FloatRange(0, 100_000),
        help=help,
    )


def units_option() -> Callable[[F], F]:
    """``--units``: None unless given."""
    return click.option(
        "--units", type=click.Choice(["metric", "us"]), help="instead of the garden's"
    )


def years_option(
    help: str = "weather years to plan with; 0: the mean year, and no promise",
) -> Callable[[F], F]:
    """``--years``: how many weather years to plan with."""
    return click.option(
        "--years",
        metavar="N",
        default=PLANNED,
        show_default=True,
        type=click.IntRange(0, 200),
        help=help,
    )


def cores() -> int:
    """Cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _speak(_ctx: click.Context, _param: click.Parameter, language: str | None) -> str | None:
    from scheduler.words.language import check_language, use_language

    check_language(language)
    use_language(language)
    return language


def language_option() -> Callable[[F], F]:
    """``--language``: of what is printed; taken at once, and not given to the command."""
    return click.option(
        "--language",
        metavar="CODE",
        callback=_speak,
        expose_value=False,
        help="of what is printed, such as de",
    )
