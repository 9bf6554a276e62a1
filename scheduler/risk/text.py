"""A replay over many weather years in 79 characters, and for machines."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

from scheduler.garden.model import Garden
from scheduler.plans.model import Plan
from scheduler.risk.lived_plan import WeekLived
from scheduler.risk.replay import BatchRisk, Risk, WeekSpread
from scheduler.schedule.assemble import by_weights, wish_met, wish_total
from scheduler.words.language import batches_text
from scheduler.words.units import mass, of_the_wish, share
from scheduler.words.words import MONTHS, Shown, _, group_title, pad, table, wrap

WIDTH = 79
SHOWN = 12  # batches in the table unless all are asked for


def lines(garden: Garden, plan: Plan, risk: Risk, every: bool = False) -> list[str]:
    """What was assumed, batches most likely to run dry first, produce week by week."""
    out = [
        _("{name}: {years:,} weather years, {batches} ahead").format(
            name=garden.name, years=risk.years, batches=batches_text(len(risk.batches))
        )
    ]
    if garden.invented:
        out.append(_("(an invented garden)"))
    out.append("")
    for sentence in map(_, risk.notes):
        out += textwrap.wrap(sentence, WIDTH, initial_indent="- ", subsequent_indent="  ")
    out.append("")
    out += textwrap.wrap(_dry_sentence(risk), WIDTH)
    out.append("")
    order = sorted(
        risk.batches, key=lambda b: (-b.dry, -b.killed, -b.bolts, -b.unready, b.last_pick)
    )
    shown = order if every else order[:SHOWN]
    out += _batch_table(garden, shown)
    if len(shown) < len(order):
        out.append(
            _("and {shown} more, none likelier to run dry (--all)").format(
                shown=len(order) - len(shown)
            )
        )
    out.append("")
    out += _week_tables(garden, risk)
    met = _met(garden, plan, risk)
    if met:
        planned, low, middle, high = (share(x) for x in met)
        out += textwrap.wrap(
            _(
                "Met {by_weights} over the season: planned {planned}; a bad year "
                "{low}, a usual year {middle}, a good year {high} (1 year of 20 is "
                "worse than the bad one, 1 better than the good one)."
            ).format(
                by_weights=of_the_wish(by_weights(garden)),
                planned=planned,
                low=low,
                middle=middle,
                high=high,
            ),
            WIDTH,
        )
    return out


def _met(garden: Garden, plan: Plan, risk: Risk) -> tuple[float, ...]:
    """Shares of the wish met: as planned, 5, 50 and 95 % over the years; empty without a wish."""
    planned, total = wish_met(garden, plan), wish_total(garden)
    return () if planned is None else (planned, *(x / total for x in risk.produce))


def _dry_sentence(risk: Risk) -> str:
    if not risk.batches:
        return _("Nothing is ahead: every batch is cleared, lost or picked.")
    if risk.any_dry == 0:
        return _("No batch runs dry before its last pick in any of these years.")
    return _(
        "In {any_dry} of the years at least one batch runs dry before its last "
        "pick; on average {lost:.2f} of {batches}."
    ).format(
        any_dry=percent(risk.any_dry),
        lost=Shown(risk.lost),
        batches=len(risk.batches),
    )


def percent(chance: float) -> str:
    """A chance in per cent; what is not quite never or always does not read as such."""
    if 0 < chance < 0.001:
        return "<0.1%"
    return f"{chance:.1%}" if chance < 0.0995 else f"{chance:.0%}"


def _batch_table(garden: Garden, batches: Iterable[BatchRisk]) -> list[str]:
    heads = (
        _("batch"),
        _("crop"),
        _("tier"),
        _("last pick"),
        _("dry"),
        _("unripe"),
        _("wait"),
        _("bolted"),
        _("killed"),
        _("plan"),
        _("1 in 20"),
    )
    rows = [
        (
            b.id,
            _(garden.crops[b.crop].title),
            f"{b.column} {b.tier}",
            short_day(b.last_pick),
            percent(b.dry),
            percent(b.unready),
            _days(b.wait),
            percent(b.bolts),
            percent(b.killed),
            _days(b.margin_days),
            _days(b.margin_low),
        )
        for b in batches
    ]
    out = table(heads, rows, "<<<<>>>>>>>", WIDTH)
    out += [
        "",
        *wrap(
            _(
                "dry, unripe, bolted, killed: chance to be at the keep level before the last pick, "
                "not ready at the first, bolted, killed by cold or heat. wait: days until it is "
                "ready, in the worst year of 20. plan, 1 in 20: days from the last pick to the dry "
                "date, as planned and in the worst year of 20."
            ),
            WIDTH,
        ),
    ]
    return out


def short_day(day: date) -> str:
    return _("{day} {month}").format(day=day.day, month=_(MONTHS[day.month - 1])[:3])


def _days(count: int | None) -> str:
    return "-" if count is None else str(count)


def week_tables(
    garden: Garden, weeks: Sequence[WeekSpread | WeekLived], years: tuple[str, str, str]
) -> list[str]:
    """A table for each group that wishes something; ``years`` head what is served, rising."""
    out: list[str] = []
    for demand in garden.demands:
        rows = [w for w in weeks if w.group == demand.group and w.wish]
        if not rows:
            continue
        out += wrap(
            _("{group}: of the wish on the table, storage counted").format(
                group=group_title(demand.group)
            ),
            WIDTH,
        )
        heads = [pad(_("week"), 12), *(pad(h, 12, ">") for h in (_("wish"), _("planned"), *years))]
        cells = [
            (w.week, *(mass(x, garden.units) for x in (w.wish, w.planned, *w.served))) for w in rows
        ]
        out += [*table(heads, cells, "<>>>>>", WIDTH), ""]
    return out


def _week_tables(garden: Garden, risk: Risk) -> list[str]:
    out = week_tables(garden, risk.weeks, (_("bad year"), _("usual year"), _("good year")))
    if out:
        out[:0] = [
            *wrap(
                _(
                    "A bad year: 1 year in 20 brings no more; a usual year: half of the years; a "
                    "good year: 19 of 20."
                ),
                WIDTH,
            ),
            "",
        ]
    return out


def data(garden: Garden, plan: Plan, risk: Risk, seed: int) -> dict[str, Any]:
    """The same for machines: chances and shares 0 to 1, masses in grams, dates ISO 8601."""
    body = asdict(risk)
    for b in body["batches"]:
        b["last_pick"] = b["last_pick"].isoformat()
    for w in body["weeks"]:
        for name in ("served", "picked"):
            w[name] = dict(zip(("p5", "p50", "p95"), w[name], strict=True))
    body.pop("produce")
    met = _met(garden, plan, risk)
    body["wish_met"] = dict(zip(("planned", "p5", "p50", "p95"), met, strict=True)) if met else None
    return {"seed": seed, "assumed": body.pop("notes"), **body}
