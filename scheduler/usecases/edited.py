"""A batch that the grower moves or drops by hand: the plan with it, checked by every rule."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.usecases.planning import refuse_broken
from scheduler.usecases.planning_again import PlannedAgain
from scheduler.words.language import _

if TYPE_CHECKING:
    from scheduler.garden.model import Garden
    from scheduler.log.model import Log
    from scheduler.plans.model import Batch, Pick, Plan

_FIGURES = ("claims", "unmet and values")  # rules about what a plan says of itself


@dataclass(frozen=True)
class Edit:
    """What is changed of one batch; None: as it is.

    Attributes
    ----------
    transplant : its day; sowing, picks and clearing move along by as many days.
    column, tier : where it is planted.
    first_pick : the day of the next pick; later picks and the clearing move along.
    drop : the batch is left out.
    """

    batch: str
    transplant: date | None = None
    column: str | None = None
    tier: int | None = None
    first_pick: date | None = None
    drop: bool = False


def edited(
    folder: Path,
    garden: Garden,
    plan: Plan,
    log: Log,
    on: date,
    edit: Edit,
    made: date | None = None,
) -> PlannedAgain:
    """The plan with the edit, as if planned again on ``on``; nothing else is moved.

    Parameters
    ----------
    folder : of ``plan``; garden : as read from it; made : day on which it is made.

    Raises
    ------
    BadInput
        No such batch, or something of it that has happened already would change.
    NoPlan
        A rule is broken: each in a sentence.
    """
    from scheduler.base.faults import NoPlan
    from scheduler.lived.spans import without_spans
    from scheduler.log.state import state_on
    from scheduler.mix.fills import renewed
    from scheduler.plans.plan_years import expected
    from scheduler.replanning.baseline import go_on_as_planned
    from scheduler.replanning.diff import diff
    from scheduler.replanning.rebalance import Rebalanced, made_of
    from scheduler.replanning.take_stock import commitments_of
    from scheduler.schedule.masses import Standing
    from scheduler.usecases.promising import YearsOf
    from scheduler.verify import verify
    from scheduler.years.expected import without_years

    known = None
    if plan.years is not None:
        garden = expected(folder, without_years(garden), plan, on)
        known = YearsOf(without_years(garden), plan.years.planned, plan.years.seed, on)
    old = without_spans(plan)
    state = state_on(garden, old, log, on)
    held = commitments_of(garden, old, state)
    kept = go_on_as_planned(held)
    if not kept.whole or kept.dropped or held.gone:
        raise NoPlan("The plan cannot go on as it stands: plan again first.")
    stands = made_of(garden, old, held, kept)
    new = _valued(garden, replace(old, batches=_with(garden, stands, edit, on), as_of=on))
    new = renewed(garden, plan, new)
    new = replace(
        new,
        lifted=Standing(garden, new).lifted(new),
        number=max(plan.number, 1) + 1,
        made=made or date.today(),
    )
    if known is not None:
        new = known.again(plan, new)
    broken = [b.message for b in verify(garden, new).broken if b.rule not in _FIGURES]
    if broken:  # its figures are then wrong as well, and tell nothing
        raise NoPlan("\n".join(dict.fromkeys(broken)))
    refuse_broken(garden, new)
    done = Rebalanced(
        new, state, diff(garden, old, new, {edit.batch: _("changed by hand")}), held, (), True
    )
    return PlannedAgain(done, garden, None)


def _with(garden: Garden, batches: Sequence[Batch], edit: Edit, on: date) -> tuple[Batch, ...]:
    """The batches with the edit."""
    from scheduler.base.faults import BadInput, Fault
    from scheduler.plans.model import GROWING, PLANNED, SOWN

    old = next((b for b in batches if b.id == edit.batch), None)
    if old is None or old.state not in (PLANNED, SOWN, GROWING):
        expected = "a batch that is planned, sown or growing"
        raise BadInput([Fault("batch", None, "", edit.batch, expected)])
    moves = edit.transplant not in (None, old.transplant)
    place = (edit.column or old.column, edit.tier or old.tier)
    faults = []
    if old.state == GROWING and (moves or place != (old.column, old.tier) or edit.drop):
        expected = "other days of picking alone: it stands in its tier already"
        faults.append(Fault("batch", None, "", edit.batch, expected))
    if old.state == SOWN and edit.drop:
        faults.append(Fault("batch", None, "", edit.batch, "another day or tier: it is sown"))
    for name, day in (("transplant", edit.transplant), ("first_pick", edit.first_pick)):
        if day is not None and not on <= day <= garden.season.end:
            expected = f"a day from {on} to {garden.season.end}"
            faults.append(Fault(name, None, "", str(day), expected))
    if faults:
        raise BadInput(faults)
    if edit.drop:
        return tuple(b for b in batches if b.id != edit.batch)
    moved = _moved(garden, old, old.state != PLANNED, edit, place, on)
    return tuple(moved if b.id == edit.batch else b for b in batches)


def _moved(
    garden: Garden, b: Batch, sown: bool, edit: Edit, place: tuple[str, int], on: date
) -> Batch:
    """The batch on its new days in its new tier, with masses, levels and margin computed anew."""
    from scheduler.replanning.rebalance import young_named
    from scheduler.replanning.ways_on import finished

    by = timedelta(0) if edit.transplant is None else edit.transplant - b.transplant
    picks, clear = [replace(p, date=p.date + by) for p in b.picks], b.clear + by
    ahead = next((n for n, p in enumerate(picks) if p.date >= on), len(picks))
    if edit.first_pick is not None and ahead < len(picks):
        later = edit.first_pick - picks[ahead].date
        picks = [replace(p, date=p.date + later * (n >= ahead)) for n, p in enumerate(picks)]
        clear += later
    plants = garden.tier(*place).plants if place != (b.column, b.tier) else b.plants
    if plants != b.plants:
        picks = _shared(picks, plants)
    made = replace(
        b,
        column=place[0],
        tier=place[1],
        plants=plants,
        sow=b.sow if sown else b.sow + by,
        transplant=b.transplant + by,
        picks=tuple(picks),
    )
    made = finished(garden, young_named(garden, made), clear)
    return replace(made, picks=tuple(_weighed(garden, made, n) for n in range(len(made.picks))))


def _shared(picks: Sequence[Pick], plants: int) -> list[Pick]:
    """Another number of plants: all of them at each cut, or the rest with the last pick."""
    if len({p.plants for p in picks}) == 1 and len(picks) > 1:
        return [replace(p, plants=plants) for p in picks]
    left, out = plants, []
    for n, p in enumerate(picks):
        take = left if n == len(picks) - 1 else min(p.plants, max(left - 1, 0))
        out.append(replace(p, plants=take))
        left -= take
    return [p for p in out if p.plants]


def _weighed(garden: Garden, b: Batch, n: int) -> Pick:
    """A pick with its mass: of a cut its share; of a young head what has grown by then."""
    from scheduler.replanning.outlook import mass_share_on

    crop, pick = garden.crops[b.crop], b.picks[n]
    if crop.cuts > 1:
        share = crop.cut_shares[n] if n < len(crop.cut_shares) else 0.0
    else:
        share = mass_share_on(garden, b, pick.date) if pick.young else 1.0
    return replace(pick, grams=round(pick.plants * crop.fresh_mass * share))


def _valued(garden: Garden, plan: Plan) -> Plan:
    """The plan with what it is worth; of what a hand has changed nothing is proven."""
    from scheduler.plans.model import BEST_FOUND, Stage
    from scheduler.schedule import assemble
    from scheduler.schedule.stages import CHANGES, EFFORT, EVENNESS, PRODUCE

    table = assemble.serve(garden, plan.batches)
    values = {
        PRODUCE: assemble.produce_value(garden, table),
        EVENNESS: assemble.evenness_value(table),
        EFFORT: assemble.effort_value(plan.batches),
        CHANGES: 1.0,
    }
    stages = tuple(Stage(name, BEST_FOUND, v, None, 0.0) for name, v in values.items())
    return replace(plan, status=BEST_FOUND, stages=stages, unmet=table.unmet())
