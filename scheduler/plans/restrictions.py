"""What every bound and every "proven" is about: the one list, named wherever a proof is told.

The search decides among batches that are written down before it begins, and not every way to pick
one is. A bound holds for all plans of those that are. Whatever is added to or taken from the ways
to pick (`patterns`, `ways_on`) is added to or taken from this list.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scheduler.garden.model import Garden


def N_(message: str) -> str:
    """Marks a message for translation without translating it yet."""
    return message


@dataclass(frozen=True)
class Restriction:
    """One restriction: in a few words (none: too rare for a line of text), and exactly."""

    short: str
    text: str


HEADS = Restriction(
    N_("heads picked on one day or two"),
    "the heads of a batch are picked on one day, or on two days that serve different weeks",
)
CUTS = Restriction(
    N_("each cut as soon as it has grown back"),
    "a crop cut again is cut on the first work day for picking on which it is ready or has grown "
    "back, six times at most",
)
LONG = Restriction("", "a last pick comes, with the dry margin, within 150 days of transplanting")
GROWING = Restriction(
    N_("what grows already picked in the ways tried"),
    "in a rebalance: heads that stand already are picked on one day, or in halves on two; of all "
    "ways to pick a batch that stands at most 24 are tried",
)
RISK = Restriction(
    N_("no more risk than asked for"),
    "with --risk: no batch bolts, runs dry or is killed by cold or heat before its last pick in "
    "more weather years than that",
)

MORE = N_("dryline plan --help tells all that is left out.")

RESTRICTIONS = (HEADS, CUTS, LONG, GROWING, RISK)


def that_bind(
    garden: Garden, rebalanced: bool = False, risk: bool = False
) -> Iterator[Restriction]:
    """The restrictions that matter for a plan of ``garden``."""
    wished = {name for d in garden.demands for name in d.crops}
    crops = [c for c in garden.crops.values() if c.name in wished]
    if any(c.cuts == 1 for c in crops):
        yield HEADS
    if any(c.cuts > 1 for c in crops):
        yield CUTS
    yield LONG
    if rebalanced:
        yield GROWING
    if risk:
        yield RISK


def among(restrictions: Iterable[Restriction]) -> str:
    """The plans a proof is about, in half a sentence; empty where nothing is to be said."""
    from scheduler.words.language import _

    names = [_(r.short) for r in restrictions if r.short]
    if not names:
        return ""
    listed = (
        names[-1]
        if len(names) == 1
        else _("{first} and {last}").format(first=", ".join(names[:-1]), last=names[-1])
    )
    return _("among plans with {listed}").format(listed=listed)


def whole_list() -> str:
    """All of them as one paragraph."""
    ways = "; ".join(r.text for r in RESTRICTIONS)
    return (
        f'"Proven", and every bound, is about plans in which {ways}. The least work is never '
        "called proven, as not all days to sow and to pick are tried for it."
    )
