"""What a plan is worth: a dozen lines on the screen, and the same for machines."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from scheduler.words.language import _, batches_text, long_time, minutes_text, plural

if TYPE_CHECKING:
    from scheduler.garden.model import Garden
    from scheduler.outputs.work import Work
    from scheduler.plans.model import Lifted, Plan, Promise


def outcome(garden: Garden, plan: Plan, folder: str) -> dict[str, Any]:
    """What `summary` says, for machines."""
    from dataclasses import asdict

    from scheduler.outputs.energy import lamps
    from scheduler.outputs.table import events_met, over
    from scheduler.schedule.assemble import wish_met, wish_total

    return {
        "folder": folder,
        "number": plan.number,
        "made": None if plan.made is None else plan.made.isoformat(),
        "status": plan.status,
        "batches": len(plan.batches),
        "wish_met": wish_met(garden, plan),
        "wishes": [
            {"group": d.group, "said": d.said or None, "grams_per_week": round(d.grams_per_week, 1)}
            for d in garden.demands
        ],
        "weighted_grams": {"wish": wish_total(garden)},
        "stages": [asdict(s) for s in plan.stages],
        "by_hand": dict(plan.by_hand),
        "unmet": [asdict(u) for u in plan.unmet],
        "events": [
            {**asdict(e.event), "date": e.event.date.isoformat(), "there": e.grams}
            for e in events_met(garden, plan)
        ],
        "over": [
            {"date": o.date.isoformat(), "group": o.group, "grams": o.grams}
            for o in over(garden, plan)
        ],
        "lamps": [asdict(lamp) for lamp in lamps(garden, plan)],
        "lifted": _in_units(plan.lifted, garden.units),
        "promise": None if plan.promise is None else _promise_data(plan.promise),
        "years": None if plan.years is None else asdict(plan.years),
    }


def summary(garden: Garden, plan: Plan, items: Sequence[Work] | None = None) -> list[str]:
    """A dozen lines, at most 79 characters each: what this plan is worth.

    ``items``: its work, where that is at hand; of ten thousand columns it takes a while.
    """
    from scheduler.plans.restrictions import MORE, among, that_bind
    from scheduler.schedule.assemble import by_weights, wish_met, wish_total
    from scheduler.words.units import mass, of_the_wish, share
    from scheduler.words.words import group_title

    produce = plan.stages[0]
    head = _("{name}: {batches} from {first} to {end}").format(
        name=garden.name, batches=batches_text(len(plan.batches)), first=garden.first, end=plan.end
    )
    lines = textwrap.wrap(head, 79, subsequent_indent="  ", break_on_hyphens=False)
    if garden.invented:
        lines.append(_("(an invented garden)"))
    lines.append("")
    met = wish_met(garden, plan)
    if met is None:
        lines.append(_("Nothing is wished."))
    elif plan.promise is not None:
        lines += promise_lines(plan, of_the_wish(by_weights(garden)))
        lines += ["", _("If all comes as expected it meets {met}.").format(met=share(met))]
    else:
        lines.append(
            _("This plan meets {met} {by_weights}.").format(
                met=share(met), by_weights=of_the_wish(by_weights(garden))
            )
        )
        lines += _by_rule(plan)
    most = None if produce.bound is None else produce.bound / max(wish_total(garden), 1.0)
    if plan.status == "proven":
        lines.append(_("No plan can meet more: proven."))
    elif most is None or (plan.status == "best_found" and most >= 1):
        lines.append(_("The best found in the time; how much more there could be is not known."))
    elif plan.status == "within_gap":
        lines.append(_("No plan can meet more than {up}: proven.").format(up=share(most, up=True)))
    else:
        lines += textwrap.wrap(
            _(
                "The best found in the time. No plan can meet more than {up}: proven; "
                "this gap may be the bound's, not the plan's."
            ).format(up=share(most, up=True)),
            79,
        )
    if most is not None and most < 1 and met is not None:
        about = among(that_bind(garden, plan.as_of is not None, plan.risk is not None))
        lines += textwrap.wrap(
            _("That is {about}; {more}").format(about=about, more=_(MORE)),
            79,
            subsequent_indent="  ",
        )
    if most is not None and plan.promise is not None:
        lines += textwrap.wrap(
            _(
                "What is proven is said of the courses to expect, not of any year to "
                "come, and of plans made in the way of this one: for weather years or "
                "for their mean, with young heads or without."
            ),
            79,
        )
    lines.append("")
    by_group: dict[str, int] = {}
    for short in plan.unmet:
        by_group[short.group] = by_group.get(short.group, 0) + short.grams
    told: list[str] = []
    for demand in garden.demands:
        picked = sum(b.grams for b in plan.batches if b.crop in demand.crops)
        missing = by_group.get(demand.group, 0)
        weeks = sum(1 for u in plan.unmet if u.group == demand.group)
        gap = _("nothing short")
        if missing:
            gap = plural(
                "{mass} short in {n} week",
                "{mass} short in {n} weeks",
                weeks,
                mass=mass(missing, garden.units),
            )
        if demand.said:
            weighs = mass(demand.grams_per_week, garden.units)
            told.append(
                _("{group}: {said} a week is taken as {weighs}.").format(
                    group=demand.group, said=demand.said, weighs=weighs
                )
            )
        what = _("{mass} picked, {gap}").format(mass=f"{mass(picked, garden.units):>10}", gap=gap)
        lines.append(f"  {group_title(demand.group)[:20]:<21}{what}")
    lines += told + _table(garden, plan)
    least = min((b.margin_days for b in plan.batches if b.margin_days is not None), default=None)
    if plan.lifted is not None and plan.lifted.vessels:
        lines += ["", lifting(plan.lifted, garden.units)]
    if least is not None:
        if not (plan.lifted and plan.lifted.vessels):
            lines.append("")
        lines.append(_("Nearest to dry: {least}").format(least=_nearest(least, plan)))
    return lines + _labour(garden, plan, items) + _lamps(garden, plan)


def _lamps(garden: Garden, plan: Plan) -> list[str]:
    """What lamps take, a line each, and in all where there are several."""
    from scheduler.outputs.energy_text import lamp_sentences

    lines = lamp_sentences(garden, plan)
    return [w for line in lines for w in textwrap.wrap(line, 79, subsequent_indent="  ")]


def _table(garden: Garden, plan: Plan) -> list[str]:
    """How much of each event is there, and what is over in all, most on which day."""
    from scheduler.outputs.table import event_text, events_met, over
    from scheduler.words.units import Units, mass
    from scheduler.words.words import group_title

    lines = []
    for one in events_met(garden, plan):
        text = event_text(one, Units(garden.units))
        lines += textwrap.wrap(f"{text[0].upper()}{text[1:]}.", 79, subsequent_indent="  ")
    if any(one.grams < one.wanted for one in events_met(garden, plan)):
        lines += textwrap.wrap(
            _(
                "An event counts as any gram of the wish does: where less is wished in other "
                "weeks, or with more time to search, more of it may be met."
            ),
            79,
            initial_indent="  ",
            subsequent_indent="  ",
        )
    found = over(garden, plan)
    if found:
        most = max(found, key=lambda o: o.grams)
        lines += textwrap.wrap(
            _("Over the wish: {found} in all, the most on {date}, {grams} of {group}.").format(
                found=mass(sum(o.grams for o in found), garden.units),
                date=most.date,
                grams=mass(most.grams, garden.units),
                group=group_title(most.group),
            ),
            79,
            subsequent_indent="  ",
        )
    return lines


def _labour(garden: Garden, plan: Plan, items: Sequence[Work] | None) -> list[str]:
    """How long the work takes, in one line."""
    from scheduler.outputs.labour import care, season
    from scheduler.outputs.work import work_items

    items = work_items(garden, plan) if items is None else items
    took = season(garden, plan, items)
    if not took:
        return []
    most = max(took, key=took.__getitem__)
    cared = sum(care(garden, items).values())
    text = _("Work: about {time} on {days}, at most {longest}, on {date}.").format(
        time=long_time(sum(took.values())),
        days=plural("{n} day", "{n} days", len(took)),
        longest=minutes_text(took[most]),
        date=most,
    )
    more = _("Beside it about {minutes} to harden off, protect and shade.")
    return [text, *([more.format(minutes=minutes_text(cared))] if cared else [])]


def _in_units(lifted: Lifted | None, units: str) -> dict[str, Any] | None:
    """What is lifted in the grower's units, named."""
    from scheduler.words.units import US, convert

    if lifted is None:
        return None
    unit = "lb" if units == US else "kg"
    in_all, most = (round(convert(kg, "kg", unit), 1) for kg in (lifted.kg, lifted.heaviest_kg))
    return {"vessels": lifted.vessels, "unit": unit, "in_all": in_all, "heaviest": most}


def lifting(lifted: Lifted, units: str) -> str:
    """What filling and clearing lifts, in the grower's units, in one line."""
    from scheduler.words.units import load

    count = plural("{n:,} vessel", "{n:,} vessels", lifted.vessels)
    return _("Lifted to fill and clear: {count}, {kg} in all, the heaviest {heaviest_kg}.").format(
        count=count, kg=load(lifted.kg, units), heaviest_kg=load(lifted.heaviest_kg, units)
    )


def _promise_data(promise: Promise) -> dict[str, Any]:
    from dataclasses import asdict

    from scheduler.outputs import two_kinds

    return {**asdict(promise), "shares": None, "two_kinds": two_kinds.data(promise)}


def promise_lines(plan: Plan, of_what: str) -> list[str]:
    """What a plan brings to the table in the years it was judged in."""
    from scheduler.outputs import two_kinds
    from scheduler.plans.model import SIMPLE_RULES
    from scheduler.words.units import share

    promise, years = plan.promise, plan.years
    assert promise is not None
    assert years is not None
    lines = textwrap.wrap(
        _(
            "A usual year brings {usual} {of_what} to the table, one year in five "
            "less than {one_in_five}; the worst fifth of the years {worst_fifth} "
            "on average."
        ).format(
            usual=share(promise.usual),
            of_what=of_what,
            one_in_five=share(promise.one_in_five),
            worst_fifth=share(promise.worst_fifth),
        ),
        79,
    )
    if promise.reachable < 0.9995:
        lines += textwrap.wrap(
            _("{reachable} no plan can reach: in those weeks nothing is ripe.").format(
                reachable=share(1 - promise.reachable)
            ),
            79,
            initial_indent="  ",
            subsequent_indent="  ",
        )
    lines += two_kinds.lines(promise)
    usual, rule = plan.by_hand.get("usual"), SIMPLE_RULES.get(plan.by_hand.get("rule", ""))
    if usual is not None:
        text = _("A simple rule would bring {usual} in a usual year").format(usual=share(usual))
        text += f": {_(rule)}." if rule else "."
        lines += textwrap.wrap(text, 79, subsequent_indent="  ")
    real = (
        _("{real} of them real").format(real=years.real)
        if years.real
        else _("made around the climate table")
    )
    lines += textwrap.wrap(
        _(
            "Judged in {judged} weather years apart ({real}), lived by a grower "
            "who waits until a crop is ripe, eats young heads when the week is "
            "short, and knows no weather ahead."
        ).format(judged=years.judged, real=real)
        + (
            ""
            if years.columns is None
            else _(
                " {columns} columns were lived, evenly spaced in the garden file, with "
                "their share of wishes and limits; what stands in others has no spans."
            ).format(columns=years.columns)
        )
        + (
            ""
            if years.sample is None
            else " "
            + plural(
                "{n} column was planned by living it, all others do as it does.",
                "{n} columns were planned by living them, each other does as one that is like it.",
                years.sample,
            )
        ),
        79,
        subsequent_indent="  ",
    )
    if promise.foreseen:
        lines += textwrap.wrap(foreseen_text(promise), 79, subsequent_indent="  ")
    return lines


def foreseen_text(promise: Promise) -> str:
    """What some of the years could bring at most to who knew their weather beforehand."""
    from scheduler.words.units import share

    n = len(promise.foreseen)
    mine = sum(promise.shares[number] for number in promise.foreseen_years) / n
    return plural(
        "Who had known its weather beforehand could have brought at most {most} in one of these "
        "years (proven); this plan brings {mine} in it.",
        "Who had known the weather of each year beforehand could have brought at most {most} on "
        "the mean of {n} of these years (proven); this plan brings {mine} in them.",
        n,
        most=share(sum(promise.foreseen) / n),
        mine=share(mine),
    )


def _by_rule(plan: Plan) -> list[str]:
    """What the better of two simple rules would meet, and what it is."""
    from scheduler.plans.model import SIMPLE_RULES
    from scheduler.words.units import share

    met, rule = plan.by_hand.get("share"), SIMPLE_RULES.get(plan.by_hand.get("rule", ""))
    if met is None:
        return []
    text = _("A simple rule would meet {met}").format(met=share(met))
    return textwrap.wrap(f"{text}: {_(rule)}." if rule else f"{text}.", 79, subsequent_indent="  ")


def hint(garden: Garden, plan: Plan, folder: str) -> list[str]:
    """Where a plan falls short: which command tells why."""
    from scheduler.schedule.assemble import wish_total

    if garden.today is not None or plan.stages[0].value >= wish_total(garden) - 0.5:
        return []
    return [
        "",
        _("What holds it back, and which small change would help most, tells"),
        f"  dryline shortfall {folder}",
    ]


def _nearest(days: int, plan: Plan) -> str:
    """How near a tier comes to dry before its last pick; with years, in one year of ten."""
    count = plural("{n} day", "{n} days", abs(days))
    if plan.years is None or not plan.years.chosen_with:
        count = count if days >= 0 else f"-{count}"
        return _("{count} between a last pick and its dry date.").format(count=count)
    if days < 0:
        return _("in one year of ten a tier is dry {count} before its last pick.").format(
            count=count
        )
    return _("{count} from a last pick until its tier is dry in one year of ten.").format(
        count=count
    )
