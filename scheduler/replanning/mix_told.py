"""How the crops of a wish are mixed in a plan made again: told, as it is not asked there."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.garden.model import Demand, Garden
from scheduler.plans.model import Batch
from scheduler.schedule.mixed import SCALE
from scheduler.words.language import _, plural
from scheduler.words.units import share


def mix_told(garden: Garden, batches: Sequence[Batch]) -> list[str]:
    """A sentence for each share that batches of a season do not keep, and for each rule of weeks.

    What was picked before counts as well: no plan can change it. Of no batches nothing is told.
    """
    out: list[str] = []
    for wished in garden.demands if batches else ():
        out += _shares(wished, batches)
        if wished.same_kind_weeks is not None:
            out.append(
                plural(
                    "{group}: a plan made again is not held to the same kind {n} week running "
                    "at most",
                    "{group}: a plan made again is not held to the same kind {n} weeks running "
                    "at most",
                    wished.same_kind_weeks,
                    group=wished.group,
                )
            )
    return out


def _shares(wished: Demand, batches: Sequence[Batch]) -> list[str]:
    grams = dict.fromkeys(wished.crops, 0)
    for b in batches:
        if b.crop in grams:
            grams[b.crop] += b.grams
    total, out = sum(grams.values()), []
    for name, least, most in wished.shares:
        mine = grams.get(name, 0)
        if SCALE * mine > most * total:
            text = _(
                "{group}: {crop} is {mine} of what is picked, at most {asked} are asked for; a "
                "plan made again is not held to it"
            )
            asked = most
        elif SCALE * mine < least * total:
            text = _(
                "{group}: {crop} is {mine} of what is picked, at least {asked} are asked for; a "
                "plan made again is not held to it"
            )
            asked = least
        else:
            continue
        told = {"mine": share(mine / total), "asked": share(asked / SCALE)}
        out.append(text.format(group=wished.group, crop=name, **told))
    return out
