"""What the work of a sheet has in common, and is said once at its head."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from scheduler.garden.model import Garden
from scheduler.outputs import work
from scheduler.outputs.sentences import crop_title
from scheduler.outputs.work import Work
from scheduler.words.words import Shown, Units, _, tier_label

Depths = tuple[float, float, float | None]


@dataclass(frozen=True)
class Legend:
    """What the work of a sheet has in common, and is said once.

    Attributes
    ----------
    order : what goes into the water, in the order of dissolving; empty where fills differ in it,
        and then each fill names what it takes.
    depths : fill [L], its depth and how deep the plugs' tips stand in it (None: unknown) [cm],
        where each volume has one of both; else each fill says it.
    ph : lowest and highest acidity with the crops it is for, where each crop has one; else each
        fill says its own.
    once : whether what words such as "dry by" mean is said once; else each line says it.
    """

    order: tuple[str, ...] = ()
    depths: tuple[Depths, ...] = ()
    ph: tuple[tuple[tuple[float, float], tuple[str, ...]], ...] = ()
    once: bool = False


def legend(items: Iterable[Work]) -> Legend:
    """What the fills among these items have in common."""
    fills = [w for w in items if w.kind == work.FILL]
    names = {tuple(name for name, _n, _u in w.weigh) for w in fills}
    depths = {_depths(w): None for w in fills}
    alike = len({d[0] for d in depths}) == len(depths)
    acid: dict[tuple[float, float], dict[str, None]] = {}
    for w in fills:
        if w.ph is not None:
            acid.setdefault(w.ph, {})[w.crop] = None
    crops = [crop for group in acid.values() for crop in group]
    return Legend(
        next(iter(names)) if len(names) == 1 else (),
        tuple(sorted(depths, key=lambda d: d[:2])) if alike else (),
        tuple((ph, tuple(acid[ph])) for ph in sorted(acid))
        if len(crops) == len(set(crops))
        else (),
        True,
    )


def _depths(w: Work) -> Depths:
    dip = None if w.dip_cm is None else round(w.dip_cm, 1)
    return round(w.litres or 0, 2), round(w.depth_cm or 0, 1), dip


def legend_text(garden: Garden, shared: Legend, items: Iterable[Work], units: Units) -> str:
    """Sentences that say what the fills have in common, and what the words of a fill mean."""
    said = []
    if shared.order:
        said.append(
            _("FILL: weigh in this order: {names}.").format(
                names=" + ".join(_(n) for n in shared.order)
            )
        )
    if shared.depths:
        said += [
            _("{litres} is {depth} deep.").format(
                litres=units.volume_text(litres), depth=units.depth_text(cm)
            )
            if dip is None
            else _("{litres} is {depth} deep, the plug tips {dip} below the surface.").format(
                litres=units.volume_text(litres),
                depth=units.depth_text(cm),
                dip=units.depth_text(dip),
            )
            for litres, cm, dip in shared.depths
        ]
    if shared.ph:
        each = "; ".join(
            _("{low:g} to {high:g} for {crops}").format(
                low=Shown(low),
                high=Shown(high),
                crops=", ".join(crop_title(garden, crop) for crop in crops),
            )
            for (low, high), crops in shared.ph
        )
        said.append(_("pH {ranges}.").format(ranges=each))
    planted = [w for w in items if w.kind == work.TRANSPLANT]
    if any(w.until for w in planted):
        said.append(_("Plant by the day given: seedlings keep no longer."))
    if one_in := next((w.one_in for w in planted if w.dry_date and w.one_in), None):
        said.append(_("Dry by: in 1 year of {n}.").format(n=one_in))
    return " ".join(said)


def column_note(garden: Garden) -> str:
    """What ``A 2`` means; empty where no column has a second tier."""
    own = next((c.name for c in garden.columns if len(c.tiers) > 1), None)
    if own is None:
        return ""
    where = _("{place} is column {column}, tier 2 from the top.")
    return where.format(place=tier_label(own, 2), column=own)
