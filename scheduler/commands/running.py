"""While a search runs: how far it is, and what Ctrl-C does."""

from __future__ import annotations

import contextlib
import math
import signal
import sys
import textwrap
import threading
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import click

from scheduler.words.language import N_, _

if TYPE_CHECKING:
    from scheduler.solvers.cp_sat import Progress

# What each stage of the search is called on the screen.
STAGES = {
    "first plan": N_("by rules of thumb"),
    "settled": N_("what is fixed or mixed"),
    "produce": N_("most of the wish met"),
    "evenness": N_("even weeks, less waste"),
    "effort": N_("least work"),
    "reading": N_("reading the garden"),
    "living": N_("living it year by year"),
    "checking": N_("checking every rule"),
    "writing": N_("writing the calendar"),
}
PATIENCE = 5.0  # seconds after which a part that is no search is worth a line of its own


@contextlib.contextmanager
def ctrl_c() -> Iterator[threading.Event]:
    """An event that the first Ctrl-C sets; a second one ends the program as usual."""
    stop = threading.Event()

    def handler(*_signal: object) -> None:
        if stop.is_set():
            raise KeyboardInterrupt
        stop.set()
        click.echo(_("stopping; the best plan so far is kept (Ctrl-C again: give up)"), err=True)

    if threading.current_thread() is not threading.main_thread():
        yield stop
        return
    old = signal.signal(signal.SIGINT, handler)
    try:
        yield stop
    finally:
        signal.signal(signal.SIGINT, old)


@contextlib.contextmanager
def progress(quiet: bool = False) -> Iterator[Any]:
    """A function that shows `Progress`: one moving line on a terminal, a line a stage elsewhere."""
    if quiet:
        yield None
        return
    from rich.console import Console
    from rich.live import Live
    from rich.text import Text

    console = Console(stderr=True, width=None if sys.stderr.isatty() else 79)
    if not console.is_terminal:
        seen: set[str] = set()
        wish: dict[str, float] = {}  # all wishes, as the first plan tells them

        def plain(p: Progress) -> None:
            if math.isnan(p.best) and p.seconds < PATIENCE:
                return
            if p.stage in ("first plan", "settled"):
                wish["all"] = p.bound
            if p.stage not in seen:
                seen.add(p.stage)
                console.print(progress_line(p, wish.get("all", 0.0)), highlight=False)

        yield plain
        return
    with Live(console=console, refresh_per_second=4, transient=True) as live:
        wish = {}

        def moving(p: Progress) -> None:
            if p.stage in ("first plan", "settled"):
                wish["all"] = p.bound
            line = progress_line(p, wish.get("all", 0.0))
            live.update(Text(line, overflow="ellipsis", no_wrap=True))

        yield moving


def progress_line(p: Progress, wish: float = 0.0) -> str:
    """Elapsed time, stage, best value and bound of a search in 79 characters.

    ``wish``: all wishes [weighted g], of which produce is told as a share; 0 where not known.
    """
    from scheduler.words.units import share

    name = _(STAGES.get(p.stage, p.stage))
    if math.isnan(p.best):
        return f"{p.seconds:6.1f} s  {name}"
    if p.stage == "evenness" and wish > 0:  # a share needs no unit
        met = _("{met} of the wish, at least {least}").format(
            met=share(p.best / wish), least=share(max(p.bound, 0) / wish)
        )
    elif p.stage == "effort":
        met = _("{best:,.0f} points, at least {bound:,.0f}").format(
            best=p.best, bound=max(p.bound, 0)
        )
    elif p.stage in ("first plan", "settled", "produce", "living") and wish > 0:
        met = _("{wish} of the wish").format(wish=share(p.best / wish))
        if p.stage == "produce":
            met += _(", at most {up}").format(up=share(min(p.bound / wish, 1.0), up=True))
    elif math.isnan(p.bound):  # a season under way that is lived: no wish, no bound
        return f"{p.seconds:6.1f} s  {name}"
    else:
        met = _("within {up} of the best there can be").format(up=share(min(p.gap, 1.0), up=True))
    return f"{p.seconds:6.1f} s  {name:<22} {met}"


def seconds_line(seconds: dict[str, float]) -> str:
    """How long each part took."""
    text = _("Seconds: ") + ", ".join(f"{name} {s:.1f}" for name, s in seconds.items()) + "."
    return textwrap.fill(text, 79, subsequent_indent="  ")
