"""A lived plan in 79 characters, and for machines."""

from __future__ import annotations

import textwrap
from dataclasses import asdict
from typing import Any

from scheduler.garden.model import Garden
from scheduler.plans.model import Plan
from scheduler.risk.lived_plan import BatchLived, LivedPlan
from scheduler.risk.text import SHOWN, WIDTH, percent, short_day, week_tables
from scheduler.schedule.assemble import by_weights, wish_met
from scheduler.words.language import batches_text
from scheduler.words.units import of_the_wish, share
from scheduler.words.words import N_, _, table, wrap

GROWER = N_(
    "Lived by a grower who waits until a crop is ripe, eats young heads when the week is short, "
    "moves what follows a late tier, and knows no weather ahead. The crops' own numbers may be off "
    "by 10 % until review has learned them."
)


def lines(garden: Garden, plan: Plan, found: LivedPlan, every: bool = False) -> list[str]:
    """What it brings in all, the batches likeliest to be lost first, week by week."""
    real = _("all of them") if found.real == found.years else found.real or _("none")
    head = _("{name}: {years:,} weather years ({real} real)").format(
        name=garden.name, years=found.years, real=real
    )
    out = wrap(
        _("{head}, {batches} ahead").format(head=head, batches=batches_text(len(found.batches))),
        WIDTH,
    )
    if garden.invented:
        out.append(_("(an invented garden)"))
    out.append("")
    p = found.promise
    of_wish = of_the_wish(by_weights(garden))
    met = wish_met(garden, plan)
    if met is not None:
        out += wrap(
            _(
                "A usual year brings {usual} {of_wish} to the table, one year in five "
                "less than {one_in_five}; the worst fifth of the years {worst_fifth} "
                "on average. If all comes as expected it is {met}."
            ).format(
                usual=share(p.usual),
                of_wish=of_wish,
                one_in_five=share(p.one_in_five),
                worst_fifth=share(p.worst_fifth),
                met=share(met),
            ),
            WIDTH,
        )
        out.append("")
    for note in (*map(_, found.notes), _(GROWER)):
        out += textwrap.wrap(note, WIDTH, initial_indent="- ", subsequent_indent="  ")
    out.append("")
    if not found.batches:
        return [*out, _("Nothing is ahead: every batch is cleared, lost or picked.")]
    out += wrap(
        _("In {any_lost} of the years some of a batch is lost.").format(
            any_lost=percent(found.any_lost)
        )
        if found.any_lost
        else _("Nothing is lost in any of these years."),
        WIDTH,
    )
    out.append("")
    order = sorted(found.batches, key=lambda b: (-b.lost, -b.unripe, b.first_pick))
    shown = order if every else order[:SHOWN]
    out += _batches(garden, shown)
    if len(shown) < len(order):
        out.append(
            _("and {shown} more, none likelier to be lost (--all)").format(
                shown=len(order) - len(shown)
            )
        )
    return [*out, "", *_weeks(garden, found)]


def _batches(garden: Garden, batches: list[BatchLived]) -> list[str]:
    heads = (
        _("batch"),
        _("crop"),
        _("tier"),
        _("pick"),
        _("unripe"),
        _("late"),
        _("dry"),
        _("bolted"),
        _("killed"),
        _("old"),
        _("mass"),
    )
    rows = [
        (
            b.id,
            _(garden.crops[b.crop].title),
            f"{b.column} {b.tier}",
            short_day(b.first_pick),
            percent(b.unripe),
            "-" if b.late is None else str(b.late),
            percent(b.dry),
            percent(b.bolted),
            percent(b.cold + b.heat),
            percent(b.too_old + b.unplanted),
            percent(b.mass),
        )
        for b in batches
    ]
    out = table(heads, rows, "<<<<>>>>>>>", WIDTH)
    return [
        *out,
        "",
        *wrap(
            _(
                "unripe: chance that it is not ripe on the planned day (a young pick: "
                "not large enough). late: days later that its first pick comes in one "
                "year of five; -: it never comes. dry, bolted, killed (by cold or "
                "heat), old: chance that some of it is lost to that; old also if it "
                "never gets into its tier. mass: what is picked of it, of what is "
                "planned."
            ),
            WIDTH,
        ),
    ]


def _weeks(garden: Garden, found: LivedPlan) -> list[str]:
    out = week_tables(garden, found.weeks, (_("poor year"), _("usual year"), _("good year")))
    if out:
        out[:0] = [
            _("One year in five is poorer than the poor year, one better than the good."),
            "",
        ]
    return out[:-1]


def data(found: LivedPlan, seed: int) -> dict[str, Any]:
    """The same for machines: chances and shares 0 to 1, masses in grams, dates ISO 8601."""
    body = asdict(found)
    for b, batch in zip(body["batches"], found.batches, strict=True):
        b["first_pick"] = batch.first_pick.isoformat()
    for w in body["weeks"]:
        w["served"] = dict(zip(("poor", "usual", "good"), w["served"], strict=True))
    promise = body.pop("promise")
    wish = {name: promise[name] for name in ("usual", "one_in_five", "worst_fifth", "shares")}
    assumed = [*body.pop("notes"), GROWER]
    return {"seed": seed, "assumed": assumed, "wish_met": wish, **body}
