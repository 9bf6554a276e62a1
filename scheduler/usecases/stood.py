"""What was tried of the places that columns may stand in, and what came of it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from scheduler.words.language import _, plural
from scheduler.words.units import share
from scheduler.words.words import short_date, wrap

WIDTH = 79
LEAST_GAIN = 0.01  # of the wish, that a change of place must bring: own judgement

if TYPE_CHECKING:
    from scheduler.garden.may_stand import Way
    from scheduler.garden.model import Choice


@dataclass(frozen=True)
class Look:
    """A way to stand, and what a short plan of it brings.

    Attributes
    ----------
    share : of the wish [0..1]; worth : the same as plans are chosen by (`lived.worth`). None:
        nothing could be planned there.
    """

    way: Way
    share: float | None
    worth: float | None


@dataclass(frozen=True)
class Stood:
    """Where the columns stand, and what was tried for it.

    Attributes
    ----------
    looks : each way planned, in the order tried; ways : how many there are for a whole season.
    seconds : of each look; spent : of all of them. years : in which plans were lived; 0: none.
    """

    choices: tuple[Choice, ...]
    way: Way
    looks: tuple[Look, ...]
    ways: int
    seconds: float
    years: int
    under_way: bool = False

    @property
    def spent(self) -> float:
        return self.seconds * len(self.looks)

    def lines(self) -> list[str]:
        """What was tried and what came of it, in lines of at most 79 characters."""
        if self.under_way:
            head = _("Something stands today, so that no place was chosen.")
            return wrap(f"{head} {self._kept_text()}", WIDTH)
        if not self.looks:
            head = _("The time is too short to choose between places.")
            return wrap(f"{head} {self._kept_text()}", WIDTH)
        whole = sum(all(len(stays) == 1 for stays in look.way) for look in self.looks)
        text = _("Places: {tried} of {all} ways for the whole season were planned.").format(
            tried=whole, all=self.ways
        )
        if changed := len(self.looks) - whole:
            text += " " + plural(
                "{n} way with a change of place was planned.",
                "{n} ways with a change of place were planned.",
                changed,
            )
        how = _("mean of {n} weather years").format(n=self.years) if self.years else _("mean year")
        text += " " + _(
            "Each look took up to {seconds:.0f} s. What it brought of the wish ({how}):"
        ).format(seconds=self.seconds, how=how)
        out = wrap(text, WIDTH)
        for look in self.looks:
            brings = _("none") if look.share is None else share(look.share)
            mark = "  " + _("(kept)") if look.way == self.way else ""
            row = way_text(self.choices, look.way) + mark
            out += wrap(row, WIDTH, f"{brings:>7}  ", " " * 9)
        kept = next(look.share or 0.0 for look in self.looks if look.way == self.way)
        if any((look.share or 0.0) > kept for look in self.looks):
            text = _("What is kept is worth most: a gram is worth less where a week has more.")
            out += wrap(text, WIDTH)
        if any(len(stays) > 1 for look in self.looks for stays in look.way):
            text = _("A change of place is kept if it brings {least} of the wish more.")
            out += wrap(text.format(least=share(LEAST_GAIN)), WIDTH)
        return out

    def _kept_text(self) -> str:
        return _("The first that is listed is kept: {way}.").format(
            way=way_text(self.choices, self.way)
        )

    def data(self) -> list[dict[str, Any]]:
        """The looks for --json."""
        return [
            {
                "columns": [
                    {
                        "names": list(choice.columns),
                        "place": [
                            {"in": s.place.name, "from": str(s.start), "to": str(s.end)}
                            for s in stays
                        ],
                    }
                    for choice, stays in zip(self.choices, look.way, strict=True)
                ],
                "share": look.share,
                "kept": look.way == self.way,
            }
            for look in self.looks
        ]


def way_text(choices: tuple[Choice, ...], way: Way) -> str:
    """``A, B: frame until 7 May, then open``."""
    parts = []
    for choice, stays in zip(choices, way, strict=True):
        text = stays[0].place.name
        for before, stay in pairwise(stays):
            text += _(" until {day}, then {place}").format(
                day=short_date(before.end), place=stay.place.name
            )
        parts.append(f"{_some(choice.columns)}: {text}")
    return "; ".join(parts)


def _some(names: tuple[str, ...]) -> str:
    return ", ".join(names) if len(names) <= 4 else f"{names[0]} - {names[-1]}"
