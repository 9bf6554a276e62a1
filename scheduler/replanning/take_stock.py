"""Sorts the state of a season on a day into what a solver must keep, may move, or may choose.

Past work is fixed. A batch that grows keeps tier and crop; only its picks may move. Seedlings keep
crop, number and age, and may go into any tier that can carry them. A batch that is not begun may be
kept, or dropped for something better.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from crops import development
from scheduler.base.faults import NoPlan
from scheduler.batches.candidates import Candidates, build
from scheduler.garden.model import Column, Garden, Rest
from scheduler.garden.weekly import season_weeks, weeks_served
from scheduler.log.state import DISEASE_OUT_DAYS, Followed, State, is_disease
from scheduler.log.tracks import Place
from scheduler.plans.model import CLEARED, FAILED, GROWING, PLANNED, SOWN, Batch, Plan
from scheduler.replanning.commitments import Commitments, Item, Option
from scheduler.replanning.known_rows import KnownRows
from scheduler.replanning.measured import Anchor, anchor, course_of, thirst_of_fewer
from scheduler.replanning.outlook import mass_share_on, outlook
from scheduler.replanning.ways_on import Variant, ways_to_go_on, why_not
from scheduler.words.language import _
from scheduler.words.words import Shown

if TYPE_CHECKING:
    from scheduler.risk.limit import RiskLimit


def commitments_of(
    garden: Garden,
    plan: Plan,
    state: State,
    freeze: int = 0,
    last_resort: bool = False,
    risk: RiskLimit | None = None,
    admit: Callable[[Candidates], Candidates] | None = None,
    built: Callable[[Garden, int], Candidates] | None = None,
) -> Commitments:
    """Sort the batches of a state; ``freeze`` days from the day on nothing planned changes.

    As a ``last_resort`` what grows may also be given up. Within a ``risk`` nothing is planted that
    runs dry in more weather years; seedlings in hand only where no tier is safer. ``admit`` leaves
    out candidates for another reason. ``built`` gives what could be planted in a garden from a day
    index on, where that is at hand.
    """
    followed = [_corrected(garden, _young_again(garden, f), state.on) for f in state.batches]
    resting = with_rests(garden, [f.batch for f, _ in followed], state.pests)
    today = resting.season.index(state.on)
    cand = built(resting, today + freeze) if built else build(resting, today + freeze)[0]
    if risk is not None and len(cand):
        with suppress(NoPlan):  # nothing new is safe enough: go on with what there is
            cand = risk(cand)
    if admit is not None and len(cand):
        cand = admit(cand)
    out = Commitments(resting, state.on, cand, len(cand))
    out.gone = [replace(b, state=SOWN) for b, _ in state.lost]
    out.reasons = {b.id: why for b, why in state.lost}
    maker = KnownRows(out)
    stood = [f for f, _ in followed if f.batch.state in (GROWING, CLEARED, FAILED)]
    out.fills = sum(f.batch.transplant == state.on for f in stood)
    out.picks = sum(p.date == state.on for f in stood for p in f.batch.picks[: f.done])
    known_failed = {b.id for b in plan.batches if b.state == FAILED}
    for f, found in followed:
        if found is not None:
            out.anchors[f.batch.id] = found
        if f.batch.state == CLEARED or (f.batch.state == FAILED and f.cleared):
            _ended(out, f)
        elif f.batch.state == FAILED:
            _failed(out, maker, f, f.batch.id in known_failed)
        elif f.batch.state == GROWING:
            _growing(out, maker, f, last_resort)
        elif f.batch.state == SOWN:
            _sown(out, maker, f)
        else:
            _planned(out, maker, f)
    turnaround = garden.limits.turnaround_days
    for place in state.out:
        out.opens[place] = max(out.opens.get(place, 0), _work_day(resting, today) + turnaround)
    until = today + freeze
    for item in out.items:
        item.weight = _weight(resting, item, today)
        soon = _next_day(resting, item, today) < until or _is_fixed(resting, item.batch)
        item.frozen = item.as_known is not None and soon
    maker.close()
    if risk is not None:
        _within(out, risk)
    out.stock = _stock(out)
    return out


def _is_fixed(garden: Garden, batch: Batch) -> bool:
    """Whether the garden fixes a batch that is not begun yet."""
    told = (batch.crop, batch.column, batch.tier, batch.transplant)
    return batch.state in (PLANNED, SOWN) and any(
        told == (f.crop, f.column, f.tier, f.planted_on) for f in garden.fixed
    )


def with_rests(
    garden: Garden, batches: list[Batch], pests: Sequence[tuple[Place, str, date]] = ()
) -> Garden:
    """The garden with the rests that diseased batches, and pests, left behind in its tiers."""
    rests: dict[Place, list[Rest]] = {}
    for b in batches:
        if b.rest_until is not None:
            rest = Rest(garden.crops[b.crop].family, b.rest_until)
            rests.setdefault((b.column, b.tier), []).append(rest)
    for place, family, until in pests:
        rests.setdefault(place, []).append(Rest(family, until))
    if not rests:
        return garden
    columns = tuple(
        Column(
            c.name,
            tuple(
                replace(t, rests=(*t.rests, *rests.get((c.name, t.number), ()))) for t in c.tiers
            ),
        )
        for c in garden.columns
    )
    return replace(garden, columns=columns)


def _young_again(garden: Garden, f: Followed) -> Followed:
    """What is to be picked young has grown otherwise than was known: its mass, or ripe by then."""
    batch, picks = f.batch, list(f.batch.picks)
    ahead = [k for k in range(f.done, len(picks)) if picks[k].young]
    if not ahead or batch.state not in (PLANNED, SOWN, GROWING):
        return f
    ready, mass = course_of(garden, batch).ready_index, garden.crops[batch.crop].fresh_mass
    for k in ahead:
        p = picks[k]
        young = ready is None or garden.season.index(p.date) < ready
        share = mass_share_on(garden, batch, p.date) if young else 1.0
        picks[k] = replace(p, young=young, grams=round(p.plants * mass * share))
    return replace(f, batch=replace(batch, picks=tuple(picks)))


def _corrected(garden: Garden, f: Followed, on: date) -> tuple[Followed, Anchor | None]:
    if f.batch.state == GROWING and not f.readings and any(not x.settled for x in f.fewer):
        factor = thirst_of_fewer(garden, f, on)
        return replace(f, batch=replace(f.batch, demand_factor=factor)), None
    if f.batch.state != GROWING or not f.readings:
        return f, None
    found = anchor(garden, f)
    return replace(f, batch=replace(f.batch, demand_factor=found.factor)), found


def _ended(out: Commitments, f: Followed) -> None:
    out.ended.append(f.batch)
    free = out.garden.season.index(f.batch.clear) + out.garden.limits.turnaround_days
    place = (f.batch.column, f.batch.tier)
    out.opens[place] = max(out.opens.get(place, 0), free)


def _failed(out: Commitments, maker: KnownRows, f: Followed, known: bool) -> None:
    """The tier waits to be cleaned; after root disease a good while longer.

    A failure ``known`` to the plan already has its day of cleaning, which stays if it can.
    """
    season = out.garden.season
    day = max(f.batch.clear, out.on)
    if not known and is_disease(f.note) and f.failed_on is not None:
        day = max(day, f.failed_on + timedelta(days=DISEASE_OUT_DAYS))
    batch = replace(f.batch, clear=min(day, season.end))
    option = maker.add(Variant(batch, len(batch.picks)))
    as_known = 0 if known else None
    out.items.append(Item(batch, [option], as_known, True, season.index(batch.clear), weight=0))
    why = _("failed on {failed_on}").format(failed_on=f.failed_on) + (
        f": {f.note}" if f.note else ""
    )
    out.reasons.setdefault(batch.id, why)


def _growing(out: Commitments, maker: KnownRows, f: Followed, last_resort: bool) -> None:
    garden, batch = out.garden, f.batch
    clear = garden.season.index(batch.clear)
    same = Variant(batch, f.done)
    if f.spent:
        out.items.append(Item(batch, [maker.add(same)], 0, True, clear))
        return
    look = outlook(garden, f, batch, out.on)
    out.outlooks[batch.id] = look
    known = len(batch.picks) > f.done
    why = why_not(garden, same, out.on) if known else _("the plan did not know it")
    ways = ways_to_go_on(garden, same, look)
    if not why:
        ways = [same, *(w for w in ways if w.batch.picks != batch.picks)]
    else:
        out.reasons[batch.id] = why
    lost = replace(batch, state=FAILED, picks=batch.picks[: f.done], clear=out.on)
    if ways:
        if last_resort:
            ways.append(Variant(lost, f.done))
            out.reasons.setdefault(batch.id, _("given up: it does not fit beside what else is due"))
        options = [maker.add(w) for w in ways]
        early = [w.batch.grams if any(p.early for p in w.batch.picks) else 0 for w in ways]
        out.forgone |= {o.row: max(early) - g for o, g in zip(options, early, strict=True) if g}
        out.items.append(Item(batch, options, None if why else 0, True, clear))
        return
    # Nothing can be picked any more: it is given up.
    out.reasons[batch.id] = _("given up: {text}").format(text=look.text())
    option = maker.add(Variant(lost, f.done))
    out.items.append(Item(lost, [option], None, True, out.today, weight=0))


def _sown(out: Commitments, maker: KnownRows, f: Followed) -> None:
    garden, batch, season = out.garden, f.batch, out.garden.season
    options: list[Option] = []
    as_known = None
    why = _("its tier is not in the plan") if not batch.picks or not batch.tier else ""
    why = why or why_not(garden, Variant(batch), out.on)
    if not why:
        options.append(maker.add(Variant(batch)))
        as_known = 0
    else:
        out.reasons[batch.id] = why
    if f.fit is not None and f.last_transplant is not None:
        first = max(season.index(f.fit), out.today)
        last = season.index(f.last_transplant)
        for k, kind in enumerate(out.cand.kinds):
            crop = garden.crops[batch.crop]
            need, cells = development.cells_to_sow(crop, kind.tier.plants), batch.cells
            if f.emerged is not None:  # what came up needs no spare cells any more
                need, cells = kind.tier.plants, f.emerged
            if need <= cells:
                options += maker.seedlings(batch, k, first, last)
    if options:
        out.items.append(Item(batch, options, as_known, False, season.index(batch.clear)))
        return
    out.gone.append(batch)
    if f.last_transplant is not None and f.last_transplant < out.on:
        out.reasons[batch.id] = _("seedlings were too old from {last_transplant} on").format(
            last_transplant=f.last_transplant
        )
    else:
        out.reasons[batch.id] = _("no tier can carry its seedlings; {why}").format(why=why)


def _planned(out: Commitments, maker: KnownRows, f: Followed) -> None:
    batch = f.batch
    why = why_not(out.garden, Variant(batch), out.on)
    if why:
        out.gone.append(batch)
        out.reasons[batch.id] = why
        return
    option = maker.add(Variant(batch))
    clear = out.garden.season.index(batch.clear)
    out.items.append(Item(batch, [option], 0, False, clear))


def _within(out: Commitments, risk: RiskLimit) -> None:
    """Leave out what is not planted yet and would run dry in too many weather years."""
    open_ = [item for item in out.items if not item.begun and not item.frozen]
    rows = sorted({o.row for item in open_ for o in item.options})
    if not rows:
        return
    chance = dict(zip(rows, risk.chances(out.cand, rows).tolist(), strict=True))
    for item in open_:
        safe = [o for o in item.options if chance[o.row] <= risk.most]
        if len(safe) == len(item.options):
            continue
        b = item.batch
        known = None if item.as_known is None else item.options[item.as_known]
        if known is not None and known not in safe:
            out.reasons[b.id] = _(
                "would run dry in {row:.1%} of weather years, at most {most:.1%} are wished"
            ).format(row=Shown(chance[known.row]), most=Shown(risk.most))
        if safe:
            item.as_known = safe.index(known) if known in safe else None
            item.options = safe
        elif b.state == PLANNED:
            out.gone.append(b)
            out.items.remove(item)


def _next_day(garden: Garden, item: Item, today: int) -> int:
    """Day index of the next work of an item."""
    b, season = item.batch, garden.season
    days = [season.index(d) for d in (b.sow, b.transplant, *(p.date for p in b.picks), b.clear)]
    if b.state == PLANNED:
        return days[0]
    return min((d for d in days[1:] if d >= today), default=today)


def _weight(garden: Garden, item: Item, today: int) -> int:
    """What a change counts: 4 within a week, 3 within two, 2 within four, then 1."""
    if item.weight == 0:
        return 0
    ahead = _next_day(garden, item, today) - today
    return 4 if ahead < 7 else 3 if ahead < 14 else 2 if ahead < 28 else 1


def _work_day(garden: Garden, day: int) -> int:
    """First work day at or after a day index; the season's end if there is none."""
    days = np.flatnonzero(garden.season.work_mask)
    later = days[days >= day]
    return int(later[0]) if len(later) else garden.season.days


def _stock(out: Commitments) -> tuple[tuple[int, int, int, int], ...]:
    """What was picked already, by group and weeks it can serve."""
    garden = out.garden
    at = {w: i for i, w in enumerate(season_weeks(garden.season))}
    groups = {d.group: i for i, d in enumerate(garden.demands)}
    past: list[tuple[Batch, int]] = [(b, len(b.picks)) for b in out.ended]
    seen: Mapping[str, int] = {v.batch.id: v.done for v in out.variants.values() if v.done}
    past += [(i.batch, seen.get(i.batch.id, 0)) for i in out.items if i.begun]
    stock = []
    for batch, done in past:
        demand = garden.demand_of(batch.crop)
        for pick in batch.picks[:done] if demand else ():
            assert demand is not None
            weeks = [
                w
                for w in weeks_served(
                    pick.date,
                    garden.crops[batch.crop].storage_life,
                    garden.event_weeks(batch.crop),
                )
                if w in at
            ]
            if weeks and pick.grams:
                stock.append((groups[demand.group], at[weeks[0]], at[weeks[-1]], pick.grams))
    return tuple(stock)
