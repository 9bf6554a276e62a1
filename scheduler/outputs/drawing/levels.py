"""Level curves: depth against date in one tier, the keep level, and the margin before it is dry."""

from __future__ import annotations

from collections.abc import Callable

from scheduler.garden.model import Column, Garden, Tier
from scheduler.outputs.drawing import svg
from scheduler.outputs.drawing.svg import Days, frame, line, path, scale_steps, text
from scheduler.outputs.sentences import crop_title
from scheduler.plans.model import Batch, Level, Plan
from scheduler.words.words import Shown, Units, _, plural, short_date, tier_label

_WIDE, _HIGH, _LEFT, _TOP, _LOW = 410.0, 182.0, 28.0, 26.0, 152.0


def levels(garden: Garden, plan: Plan, column: Column, tier: Tier, units: Units) -> str:
    """The curve of one tier over the season."""
    vessel = garden.vessels[tier.vessel]
    mine = sorted(
        (b for b in plan.batches if (b.column, b.tier) == (column.name, tier.number)),
        key=lambda b: b.transplant,
    )
    x = Days(plan.start, plan.end, _LEFT, _WIDE - 4)
    full = units.depth(float(vessel.depth(vessel.fill_l)))

    def y(cm: float) -> float:
        return _LOW - units.depth(cm) / full * (_LOW - _TOP)

    out = x.months(_TOP - 4, _LOW, _LOW + 14)
    for step in scale_steps(full, 5):
        at = _LOW - step / full * (_LOW - _TOP)
        out.append(line(_LEFT, at, _WIDE - 4, at, "grid"))
        out.append(text(_LEFT - 4, at + 4, f"{Shown(step):g}", "tiny", "end"))
    out.append(text(_LEFT - 4, _TOP - 9, units.depth_unit, "tiny", "end"))
    keep = y(float(vessel.depth(vessel.floor_l)))
    for batch in mine:
        out += _area(batch, x, y)
    out.append(line(_LEFT, keep, _WIDE - 4, keep, "keep"))
    out.append(text(_LEFT + 2, keep - 3, _("keep"), "tiny"))
    for batch, following in zip(mine, [*mine[1:], None], strict=True):
        out += _marks(garden, batch, following, x, keep)
    says = f"{tier_label(column.name, tier.number)}: " + "; ".join(
        _words(garden, b, units) for b in mine
    )
    return frame(_WIDE, _HIGH - 10, says, out)


def _area(batch: Batch, x: Days, y: Callable[[float], float]) -> list[str]:
    """The solution under the curve, the curve."""
    points = [(x(v.date), y(v.depth_cm)) for v in _few_points(batch)]
    if len(points) < 2:
        return []
    around = [(points[0][0], _LOW), *points, (points[-1][0], _LOW)]
    return [path(around, "water", True), path(points, "curve")]


def _marks(
    garden: Garden, batch: Batch, following: Batch | None, x: Days, keep: float
) -> list[str]:
    """Crop, margin in days, and a triangle at the dry date where no later batch stands there."""
    out = []
    x1, room = x(batch.transplant), x(batch.clear) - x(batch.transplant)
    title = svg.shortened(crop_title(garden, batch.crop), int((room - 2) / 6))
    if title:
        out.append(text(x1 + 2, _TOP - 9, title, "small"))
    if batch.margin_days is not None:
        days = plural("{n} d", "{n} d", batch.margin_days)
        out.append(text(x1 + room / 2, keep - 4, days, "tiny", "middle"))
    dry = batch.dry_date
    if dry and dry <= x.last and (following is None or dry < following.transplant):
        at = x(dry)
        out.append(path([(at - 5, keep - 9), (at + 5, keep - 9), (at, keep)], "dry", True))
    return out


def _few_points(batch: Batch) -> list[Level]:
    """Every third level, the first and the last: a curve this smooth loses nothing."""
    levels = batch.levels
    return [v for i, v in enumerate(levels) if i % 3 == 0 or i == len(levels) - 1]


def _words(garden: Garden, batch: Batch, units: Units) -> str:
    text_ = _("{crop} from {start} to {end}").format(
        crop=crop_title(garden, batch.crop),
        start=short_date(batch.transplant),
        end=short_date(batch.clear),
    )
    if batch.levels:
        text_ += _(", lowest {depth}").format(
            depth=units.depth_text(min(v.depth_cm for v in batch.levels))
        )
    if batch.margin_days is not None and batch.dry_date:
        text_ += ", " + plural("margin {n} day", "margin {n} days", batch.margin_days)
        text_ += _(", dry on {date}").format(date=short_date(batch.dry_date))
    return text_


def tier_columns(garden: Garden, plan: Plan) -> list[tuple[Column, list[Tier]]]:
    """Columns with the tiers that hold something, in order."""
    used = {(b.column, b.tier) for b in plan.batches}
    out = []
    for column in garden.columns:
        tiers = [t for t in column.tiers if (column.name, t.number) in used]
        if tiers:
            out.append((column, tiers))
    return out
