"""What a re-plan tells beside its changes: what was assumed, corrected, refused; what is urgent."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.log.state import Followed, State
from scheduler.plans.model import GROWING, Batch
from scheduler.replanning.commitments import Commitments
from scheduler.replanning.forecast_told import forecast_told
from scheduler.replanning.mix_told import mix_told
from scheduler.words.language import _, plural
from scheduler.words.words import Shown, Units, top_up


def _happened(f: Followed, units: Units) -> list[str]:
    """What the log tells of a batch beside its work, and how the new plan reckons with it."""
    out = []
    if f.batch.state == GROWING and f.water:
        litres = units.volume_text(sum(w.litres for w in f.water))
        out.append(
            _("{litres} came in; to be safe the plan reckons without it").format(litres=litres)
        )
    lost = sum(x.plants for x in f.fewer if not x.settled)
    if lost:
        out.append(
            plural(
                "{n} plant lost, {left} left", "{n} plants lost, {left} left", lost, left=f.standing
            )
        )
    if f.emerged is not None and f.emerged < f.batch.plants:
        out.append(
            _(
                "{emerged} came up, {plants} are planned: sow again, or plant what "
                "there is and log how many"
            ).format(emerged=f.emerged, plants=f.batch.plants)
        )
    return out


def remarks(
    commitments: Commitments, state: State, complete: bool, made: Sequence[Batch]
) -> list[str]:
    """Sentences; ``complete`` : the log tells everything; ``made`` : the batches of a new plan."""
    out = []
    units = Units(commitments.garden.units)
    if state.assumed:
        steps = plural("{n} step", "{n} steps", state.assumed)
        are = _("are") if state.assumed > 1 else _("is")
        if complete:
            out.append(
                _(
                    "{steps} before {on} {are} not in the log, but later ones that need "
                    "them are: taken as done"
                ).format(steps=steps, on=state.on, are=are)
            )
        else:
            out.append(
                _(
                    "{steps} of the plan before {on} {are} not in the log: taken as done "
                    "on the day planned"
                ).format(steps=steps, on=state.on, are=are)
            )
    for f in state.batches:
        b = f.batch
        told = [*f.late, *_happened(f, units)]
        out += [
            _("{id} ({crop}) in {column} {tier}: {what}").format(
                id=b.id, crop=b.crop, column=b.column, tier=b.tier, what=what
            )
            for what in told
        ]
    for (column, tier), family, until in state.pests:
        if until >= state.on:
            out.append(
                _(
                    "{column} {tier}: no {family} is planted there up to {until}, after a pest"
                ).format(column=column, tier=tier, family=family, until=until)
            )
    for name, found in commitments.anchors.items():
        for reading, why in found.refused:
            out.append(
                _("{name}, level of {date} (line {line}) not used: {why}").format(
                    name=name, date=reading.date, line=reading.line, why=why
                )
            )
        if found.used:
            readings = plural("{n} reading", "{n} readings", len(found.used))
            if found.low is None or found.high is None:
                text = _("{name} drinks {factor:.2f} times what was expected ({readings})").format(
                    name=name, factor=Shown(found.factor), readings=readings
                )
            else:
                text = _(
                    "{name} drinks {factor:.2f} times what was expected (90 %: {low:.2f} to "
                    "{high:.2f}; {readings})"
                ).format(
                    name=name,
                    factor=Shown(found.factor),
                    low=Shown(found.low),
                    high=Shown(found.high),
                    readings=readings,
                )
            out.append(text)
    for look in commitments.outlooks.values():
        if look.urgent:
            choices = _(", or ").join(c.text(units.system) for c in look.choices)
            out.append(
                _("{text}. You can {choices}. {top_up}").format(
                    text=look.text(), choices=choices, top_up=top_up(units)
                )
            )
    out += forecast_told(commitments.garden, state.on)
    return [*out, *mix_told(commitments.garden, made)]
