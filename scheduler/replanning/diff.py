"""What a new plan changes against the one the grower knows, in words and for machines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from scheduler.garden.model import Garden
from scheduler.garden.weekly import season_weeks, weeks_served, wish
from scheduler.plans.model import CLEARED, FAILED, Batch, Plan
from scheduler.schedule.assemble import by_weights, serve
from scheduler.words.language import N_, _, plural
from scheduler.words.units import METRIC, mass, of_the_wish, share
from scheduler.words.words import table, wrap

MOVED, DROPPED, NEW, KEPT, ENDED = N_("moved"), N_("dropped"), N_("new"), "kept", N_("failed")
WIDTH = 79


@dataclass(frozen=True)
class Change:
    """What happens to one batch.

    Attributes
    ----------
    kind : ``moved``, ``dropped``, ``new``, ``failed`` (lost or given up while it stood), ``kept``.
    what : the dates, from old to new; why : the reason, in one line; empty for what is kept.
    """

    kind: str
    id: str
    crop: str
    column: str
    tier: int
    what: str = ""
    why: str = ""

    def text(self) -> str:
        """One sentence."""
        line = f"{_(self.kind)}: {self.id} {self.crop}, {self.column} {self.tier}"
        line += f": {self.what}" if self.what else ""
        return line + (f" ({self.why})" if self.why else "")


@dataclass(frozen=True)
class Week:
    """What one week brings of a group [g]: wished, met before, met now."""

    group: str
    week: str
    wish: int
    before: int
    after: int


@dataclass(frozen=True)
class Diff:
    """All changes, and the produce of each week before and after.

    ``met``: share of all wishes met before and now, by the garden's weights, and whether those
    differ; None where nothing is wished.
    """

    changes: tuple[Change, ...]
    weeks: tuple[Week, ...]
    met: tuple[float, float, bool] | None = None

    def of(self, *kinds: str) -> tuple[Change, ...]:
        return tuple(c for c in self.changes if c.kind in kinds)

    @property
    def count(self) -> int:
        """Batches the grower knew that are moved, dropped or lost."""
        return len(self.of(MOVED, DROPPED, ENDED))

    def as_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "changes": [asdict(c) for c in self.changes],
            "weeks": [asdict(w) for w in self.weeks],
            "wish_met": None if self.met is None else {"before": self.met[0], "now": self.met[1]},
            "counts": {k: len(self.of(k)) for k in (MOVED, DROPPED, NEW, ENDED, KEPT)},
        }


def diff(garden: Garden, old: Plan, new: Plan, reasons: Mapping[str, str] | None = None) -> Diff:
    """Changes from ``old`` to ``new``; ``reasons`` tell by batch id why it could not stay."""
    why = reasons or {}
    before = {b.id: b for b in old.batches}
    after = {b.id: b for b in new.batches}
    changes = []
    for name, b in before.items():
        now = after.get(name)
        if now is None:
            reason = why.get(name) or _("it makes room for what brings more")
            changes.append(_change(DROPPED, b, _course(b), reason))
            continue
        moved = _moved(b, now)
        if now.state == FAILED and b.state != FAILED:
            changes.append(_change(ENDED, now, moved, why.get(name, "failed")))
        elif moved:
            happened = now.state == CLEARED
            reason = _("as it happened") if happened else why.get(name) or _why_moved(b, now)
            changes.append(_change(MOVED, now, moved, reason))
        else:
            changes.append(_change(KEPT, now))
    for name, b in after.items():
        if name not in before:
            changes.append(_change(NEW, b, _course(b), _brings(garden, b)))
    weeks = _weeks(garden, old, new)
    return Diff(tuple(changes), weeks, _met(garden, weeks))


def _met(garden: Garden, weeks: Sequence[Week]) -> tuple[float, float, bool] | None:
    weight = {d.group: d.weight for d in garden.demands}
    wished = sum(weight[w.group] * w.wish for w in weeks)
    before = sum(weight[w.group] * w.before for w in weeks)
    now = sum(weight[w.group] * w.after for w in weeks)
    return (before / wished, now / wished, by_weights(garden)) if wished else None


def _change(kind: str, b: Batch, what: str = "", why: str = "") -> Change:
    return Change(kind, b.id, b.crop, b.column, b.tier, what, why)


def _course(b: Batch) -> str:
    picks = ", ".join(_day(p.date) for p in b.picks) or _("never")
    return _("sow {sow}, transplant {transplant}, pick {picks}").format(
        sow=_day(b.sow), transplant=_day(b.transplant), picks=picks
    )


def _day(day: date) -> str:
    return day.isoformat()  # as in the log, in reasons and remarks


def _moved(old: Batch, new: Batch) -> str:
    """The dates that differ; empty if none does."""
    parts = []
    if (old.column, old.tier) != (new.column, new.tier):
        parts.append(
            _("from {here} to {there}").format(
                here=f"{old.column} {old.tier}", there=f"{new.column} {new.tier}"
            )
        )
    for name in ("sow", "transplant"):
        a, b = getattr(old, name), getattr(new, name)
        if a != b:
            parts.append(f"{_(name)} {_day(a)} -> {_day(b)}")
    picks = [[(p.date, p.plants) for p in x.picks] for x in (old, new)]
    if picks[0] != picks[1]:
        parts.append(_("pick {old} -> {new}").format(old=_picks(old), new=_picks(new)))
    if old.clear != new.clear:
        parts.append(_("clear {old} -> {new}").format(old=_day(old.clear), new=_day(new.clear)))
    return ", ".join(parts)


def _picks(b: Batch) -> str:
    return ", ".join(
        _("{plants} on {date}").format(plants=p.plants, date=_day(p.date)) for p in b.picks
    ) or _("never")


def _why_moved(old: Batch, new: Batch) -> str:
    if (old.column, old.tier) != (new.column, new.tier):
        return _("another tier carries its seedlings better")
    if old.picks == new.picks:
        return _("its tier is cleared on a day that suits what else is done")
    return _("meets the wishes better so")


def _brings(garden: Garden, b: Batch) -> str:
    """What a new batch is there for."""
    demand = garden.demand_of(b.crop)
    if demand is None or not b.picks:
        return ""
    life, events = garden.crops[b.crop].storage_life, garden.event_weeks(b.crop)
    weeks = [w for p in b.picks for w in weeks_served(p.date, life, events)]
    if not weeks:
        return ""
    first, last = min(weeks), max(weeks)
    when = first if first == last else _("{first} to {last}").format(first=first, last=last)
    return _("{grams} of {group} for {when}").format(
        grams=mass(b.grams, garden.units), group=demand.group, when=when
    )


def _weeks(garden: Garden, old: Plan, new: Plan) -> tuple[Week, ...]:
    a, b = serve(garden, old.batches).served, serve(garden, new.batches).served
    want = wish(garden)
    return tuple(
        Week(
            d.group, week, want[d.group, week], a.get((d.group, week), 0), b.get((d.group, week), 0)
        )
        for d in garden.demands
        for week in season_weeks(garden.season)
        if (d.group, week) in want
    )


def lines(found: Diff, since: str = "", units: str = METRIC) -> list[str]:
    """The changes as lines of at most 79 characters: what changes, then the weeks that do."""
    out: list[str] = []
    for kind in (ENDED, DROPPED, MOVED, NEW):
        for change in found.of(kind):
            out += wrap(change.text(), WIDTH, "", "    ")
    kept = len(found.of(KEPT))
    if not out:
        out.append(_("Nothing changes."))
    out.append(plural("{n} batch stays as it was.", "{n} batches stay as they were.", kept))
    changed = [w for w in found.weeks if w.before != w.after and w.week >= since]
    if changed:
        rows = [
            (w.week, w.group, *(mass(x, units) for x in (w.wish, w.before, w.after)))
            for w in sorted(changed, key=lambda w: (w.week, w.group))
        ]
        out += [
            "",
            *table(tuple(map(_, ("week", "group", "wish", "before", "now"))), rows, "<<>>>", WIDTH),
        ]
    if found.met is not None:
        before, now, weighted = found.met
        out += [
            "",
            _("met {weighted}: {before} before, {now} now").format(
                weighted=of_the_wish(weighted), before=share(before), now=share(now)
            ),
        ]
    return out
