"""The cases of `replanning.in_case` in words: what to pick early, to clear, what moves, is lost."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from scheduler.garden.model import Garden
from scheduler.outputs.changed import course, moved
from scheduler.outputs.sentences import crop_title
from scheduler.plans.model import FAILED, Batch, Plan
from scheduler.replanning.in_case import HOT, LOST, Case, Cases
from scheduler.words.words import Units, _, short_date, short_span, tier_label

Pair = tuple[Batch | None, Batch | None]


@dataclass(frozen=True)
class Said:
    """A case: its head, and lines of what to do under heads of their own (empty: none)."""

    head: str
    lines: tuple[str, ...]
    groups: tuple[tuple[str, tuple[str, ...]], ...] = ()


def cases_said(garden: Garden, plan: Plan, found: Cases, units: Units) -> tuple[Said, ...]:
    """Hot week and weeks away first, then tier by tier in the order of the garden."""
    order = {c.name: n for n, c in enumerate(garden.columns)}
    loss = [c for c in found.cases if c.kind == LOST]
    loss.sort(key=lambda c: (order.get(c.column, 0), c.tier, c.first))
    weeks = [c for c in found.cases if c.kind != LOST]
    return tuple(_said(garden, plan, c, units) for c in [*weeks, *loss])


def left_out_said(found: Cases) -> str:
    """A sentence with the tiers that were not worked out; empty if there are none."""
    if not found.left_out:
        return ""
    listed = ", ".join(tier_label(*place) for place in found.left_out)
    return _("There was no time to work out: {tiers}.").format(tiers=listed)


def _said(garden: Garden, plan: Plan, case: Case, units: Units) -> Said:
    lines = []
    if case.kind == LOST:
        head = _("{tier} is lost: {crop}").format(
            tier=tier_label(case.column, case.tier), crop=crop_title(garden, case.crop)
        )
        lines += _loss(garden, plan, case, units)
    elif case.kind == HOT:
        head = _("A hot week, {span}").format(span=short_span(case.first, case.last))
        lines.append(_("Taken as 5 °C (9 °F) warmer than to be expected, by day and by night."))
    else:
        head = _("A week away, {span}").format(span=short_span(case.first, case.last))
    if case.impossible:
        lines.append(_("Shifting alone finds no way: plan again at once."))
        return Said(head, tuple(lines))
    lost = sum(grams for _day, grams in case.lost)
    if case.less > 0 and case.less != lost:
        text = _("By the end of the season {mass} less is picked.")
        lines.append(text.format(mass=units.mass_text(case.less)))
    if case.kind != LOST and not case.changes:
        lines.append(_("Nothing changes."))
    return Said(head, tuple(lines), _groups(garden, case, units))


def _loss(garden: Garden, plan: Plan, case: Case, units: Units) -> list[str]:
    lines = []
    if case.lost:
        listed = ", ".join(
            _("{mass} on {date}").format(mass=units.mass_text(grams), date=short_date(day))
            for day, grams in case.lost
        )
        lines.append(_("Not picked: {list}.").format(list=listed))
    if case.clear is not None:
        lines.append(_("Clear it on {date}.").format(date=short_date(case.clear)))
    if after := _next(plan, case):
        lines.append(
            _("Next in it: {crop}, planted on {date}.").format(
                crop=crop_title(garden, after.crop), date=short_date(after.transplant)
            )
        )
    return lines


def _next(plan: Plan, case: Case) -> Batch | None:
    """What is planned next in the lost tier and stays there."""
    gone = {old.id: new for old, new in case.changes if old is not None}
    later = [
        gone.get(b.id, b)
        for b in plan.batches
        if (b.column, b.tier) == (case.column, case.tier) and b.transplant > case.first
    ]
    later = [b for b in later if b is not None and b.state != FAILED]
    return min((b for b in later if b), key=lambda b: b.transplant, default=None)


def _groups(garden: Garden, case: Case, units: Units) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """What changes, by what is to be done, the soonest first."""
    heads = {
        "sooner": _("Pick sooner"),
        "later": _("Pick later"),
        "days": _("Sow, plant or clear on another day"),
        "new": _("Add"),
        "dropped": _("Leave out"),
        "given up": _("Give up"),
    }
    rows: dict[str, list[tuple[date, str]]] = {kind: [] for kind in heads}
    for pair in case.changes:
        kind, day, text = _change(garden, pair, units)
        rows[kind].append((day, text))
    return tuple(
        (head, tuple(text for _day, text in sorted(rows[kind])))
        for kind, head in heads.items()
        if rows[kind]
    )


def _change(garden: Garden, pair: Pair, units: Units) -> tuple[str, date, str]:
    old, new = pair
    batch = new or old
    assert batch is not None
    name = f"{tier_label(batch.column, batch.tier)} {crop_title(garden, batch.crop)}"
    if old is None or new is None:
        text = f"{name}: {course(batch, units)}"
        return ("new" if old is None else "dropped"), batch.sow, text
    if new.state == FAILED:
        return "given up", new.clear, name
    text = f"{name}: {moved(old, new)}"
    if old.picks and new.picks and [p.date for p in old.picks] != [p.date for p in new.picks]:
        same = (old.sow, old.transplant) == (new.sow, new.transplant)
        if same:
            sooner = (new.picks[-1].date, new.picks[0].date) < (
                old.picks[-1].date,
                old.picks[0].date,
            )
            return ("sooner" if sooner else "later"), new.picks[0].date, text
    return "days", min(new.sow, new.transplant, new.clear), text
