"""What must give, in the grower's words: lines of at most 79 characters, and data for machines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from scheduler.base.weeks import week_start
from scheduler.garden.model import ONE_DAY, Demand, Garden
from scheduler.plans import rules as rules
from scheduler.plans.model import Plan
from scheduler.plans.restrictions import CUTS, MORE, among, that_bind
from scheduler.schedule import assemble
from scheduler.schedule.assemble import serve
from scheduler.shortfall.must_give import (
    CANNOT,
    FOUND,
    HELPS,
    LEAST,
    NOTHING,
    UNTRIED,
    MustGive,
    Tried,
)
from scheduler.shortfall.reach import Reach
from scheduler.shortfall.window_words import day_text, days_text
from scheduler.shortfall.wish_weeks import wish_weeks
from scheduler.words import units as show
from scheduler.words.language import _, plural
from scheduler.words.units import load, mass
from scheduler.words.words import MONTHS, Shown, group_title, pad, wrap

WIDTH = 79
_FIGURE = 14  # width of "~ under 0.1 %" and a space
MOST_SPANS = 3  # spans of days named; beyond that months are


def lines(m: MustGive, against: dict[str, str] | None = None) -> list[str]:
    """The whole answer.

    Parameters
    ----------
    against : by crop, what stands against those that can be picked nowhere (`reach.against`).
    """
    garden = m.garden
    out = lines_of(
        _("{name}: what holds the plan back, and what would help most").format(name=garden.name)
    )
    if garden.invented:
        out.append(_("(an invented garden)"))
    out += ["", *lines_of(_met(m))]
    if m.met:
        return [*out, _("Nothing has to give.")]
    out += ["", *_short(m)]
    out += list(_out_of_reach(m, against or {}))
    out += list(_wish_weeks(m))
    out += list(_rules(m))
    out += list(_steps(m))
    return out


def lines_of(text: str, first: str = "", rest: str = "") -> list[str]:
    """A sentence in lines of at most `WIDTH`."""
    return wrap(text, WIDTH, first, rest)


def share(m: MustGive, grams: float, up: bool = False) -> str:
    """Weighted grams as a share of all wishes; ``up``: what cannot be exceeded."""
    part = grams / max(m.wish, 1.0)
    return _("under 0.1 %") if 0 < part < LEAST else show.share(part, up)


def _met(m: MustGive) -> str:
    what = show.of_the_wish(assemble.by_weights(m.garden))
    text = _("The plan meets {value} {what}.").format(value=share(m, m.value), what=what)
    if m.met:
        return _("The plan meets every wish.") if m.wish else _("Nothing is wished in this season.")
    if m.given is not None and m.value > m.given + 0.5:
        text = _("The plan met {given} {what}; searching on brought it to {value}.").format(
            given=share(m, m.given), what=what, value=share(m, m.value)
        )
    if m.bound is None:
        return text + _(" How much more this garden can give is not known.")
    if m.bound <= m.value + 1e-6:
        text += _(" No plan of this garden as it is can meet more: proven")
    else:
        most = share(m, m.bound, up=True)
        text += _(" No plan of this garden as it is can meet more than {most}: proven").format(
            most=most
        )
    return text + f", {among(that_bind(m.garden))}; {_(MORE)}"


def heads(garden: Garden, demand: Demand, plan: Plan, grams: float) -> int | None:
    """Grams of a group as heads; None where it has crops that are cut again, or no mass."""
    known = [garden.crops[n] for n in demand.crops if n in garden.crops]
    if not known or any(c.cuts > 1 for c in known):
        return None
    picked = [b for b in plan.batches if b.crop in demand.crops]
    plants = sum(p.plants for b in picked for p in b.picks)
    each = (
        sum(b.grams for b in picked) / plants
        if plants
        else sum(c.fresh_mass for c in known) / len(known)
    )
    return round(abs(grams) / each) if each > 0 else None


def _amount(garden: Garden, demand: Demand, plan: Plan, grams: float) -> str:
    text = mass(abs(grams), garden.units)
    count = heads(garden, demand, plan, grams)
    return text if not count else f"{text} ({plural('about {n} head', 'about {n} heads', count)})"


def _short(m: MustGive) -> list[str]:
    garden = m.garden
    table = serve(garden, m.plan.batches)
    out = [_("Short of the wish")]
    for demand in garden.demands:
        weeks = [u for u in table.unmet() if u.group == demand.group]
        if not weeks:
            continue
        grams = sum(u.grams for u in weeks)
        span = days_text(week_start(weeks[0].week), week_start(weeks[-1].week) + 6 * ONE_DAY)
        count = plural("{n} week", "{n} weeks", len(weeks))
        out += lines_of(
            _("{group}: {grams}, in {count}, {span}").format(
                group=group_title(demand.group),
                grams=_amount(garden, demand, m.plan, grams),
                count=count,
                span=span,
            ),
            "  ",
            "    ",
        )
    return out


def _out_of_reach(m: MustGive, against: dict[str, str]) -> Iterator[str]:
    """Weeks that nothing can serve, however it is planned."""
    missed = [r for r in m.reach if r.grams]
    if missed:
        yield ""
        text = _("Out of reach, whatever is done with this garden as it is")
        yield from lines_of(text + (f", {CUTS.short}" if CUTS in that_bind(m.garden) else ""))
    for r in missed:
        yield from lines_of(reach_text(m.garden, r), "  ", "    ")
        demand = next(d for d in m.garden.demands if d.group == r.group)
        for name in demand.crops:
            if name in against:
                yield from lines_of(f"{_title(m.garden, name)}: {against[name]}", "    ", "      ")


def _wish_weeks(m: MustGive) -> Iterator[str]:
    """In which weeks each wish is worth having, as the plan stands."""
    found = wish_weeks(m.garden, m.plan)
    if found:
        yield ""
        yield _("Wished in other weeks, by this plan")
    for one in found:
        spans = _and([days_text(a, b) for a, b in one.spans])
        yield from lines_of(
            _(
                "{group} {spans} only: {met} of that wish is met, instead of {before} "
                "of all its weeks"
            ).format(
                group=group_title(one.group),
                spans=spans,
                met=show.share(one.met),
                before=show.share(one.before),
            ),
            "  ",
            "    ",
        )


def reach_text(garden: Garden, r: Reach) -> str:
    """The weeks of one wish that no pick can serve, and the first pick there can be."""
    weeks = [week_start(w) for w in r.weeks]
    spans = [
        days_text(max(a, garden.season.start), min(b + 6 * ONE_DAY, garden.season.end))
        for a, b in _runs(weeks, 7)
    ]
    text = _("{group}: {grams} wished {spans}").format(
        group=group_title(r.group), grams=mass(r.grams, garden.units), spans=_and(spans)
    )
    if r.first is None or r.sow is None or r.last is None:
        return text + _("; no crop of it can be picked in any tier this season")
    if any(w < r.first for w in weeks):
        text += _("; the first pick there can be is on {first} ({crop}, sown {sow})").format(
            first=day_text(r.first), crop=_title(garden, r.crop), sow=day_text(r.sow)
        )
    if any(w > r.last for w in weeks):
        text += _("; the last pick there can be is on {last}").format(last=day_text(r.last))
    for first, last, why in r.gaps:
        if why:
            when = "then" if len(spans) == 1 else days_text(first, last)
            text += _("; what would be ripe {when}: {why}").format(when=when, why=why)
    return text


def _title(garden: Garden, name: str) -> str:
    return _(garden.crops[name].title) if name in garden.crops else name


def _rules(m: MustGive) -> Iterator[str]:
    shown = [t for t in m.rules if t.outcome in (HELPS, FOUND)]
    yield ""
    if not m.rules or all(t.outcome == UNTRIED for t in m.rules):
        yield from lines_of(
            _("Which rule holds it back by how much was not tried; give more time.")
        )
        return
    if not shown:
        yield _("No single rule was found that holds it back.")
    else:
        yield _("Which rule holds it back: what came of dropping it altogether")
    for t in shown:
        yield from _line(m, t, f"{_(t.relaxation.rule)}: {t.relaxation.text}")
        yield from lines_of(_detail(m, t), "      ", "      ")
    yield from _groups_of(m, m.rules)


def _steps(m: MustGive) -> Iterator[str]:
    shown = [t for t in m.steps if t.outcome in (HELPS, FOUND)]
    yield ""
    if shown:
        yield _("What one step would add to the wish met")
    else:
        yield _("No single step was found to add anything.")
    families: dict[str, list[Tried]] = {}
    for t in shown:
        key = t.relaxation.family if t.relaxation.short else t.relaxation.text
        families.setdefault(key, []).append(t)
    for best, *others in families.values():
        yield from _line(m, best, best.relaxation.text)
        yield from lines_of(_detail(m, best), "      ", "      ")
        if others:
            text = ", ".join(
                f"{t.relaxation.short} {'~ ' if t.outcome == FOUND else ''}{share(m, t.gain)}"
                for t in others
            )
            yield from lines_of(_("or {text}").format(text=text), "      ", "      ")
    yield from _groups_of(m, m.steps)
    if any(t.outcome == FOUND for t in (*m.steps, *m.rules)):
        yield ""
        yield from lines_of(
            _(
                "~ too close to call: more was found and checked, but the garden as it "
                "is might give as much with a longer search; it is only proven to give "
                "at most {wish}."
            ).format(wish=share(m, m.bound or m.wish, True)),
            "",
            "  ",
        )
    if any(t.outcome in (HELPS, FOUND, NOTHING) for t in (*m.steps, *m.rules)):
        yield from lines_of(
            _(
                "Each was solved anew from the same plan, {seconds:.0f} s of search at "
                "most, and every plan found keeps every rule of its garden. One at a "
                "time: two together may bring more or less than their sum. 'At most' "
                "is proven."
            ).format(seconds=Shown(m.seconds))
        )


def _line(m: MustGive, t: Tried, text: str) -> list[str]:
    mark = "~" if t.outcome == FOUND else "+"
    figure = f"{mark} {share(m, t.gain)}"
    room = WIDTH - _FIGURE
    out = wrap(text, room, "  ", "    ")
    out[-1] = pad(out[-1], room) + f"{figure:>{_FIGURE}}"
    return out


def _detail(m: MustGive, t: Tried) -> str:
    """By group, and when the easing is used."""
    parts = []
    for demand in m.garden.demands:
        grams = t.groups.get(demand.group, 0)
        if grams:
            sign = "" if grams > 0 else _("less ")
            plan = t.plan or m.plan
            parts.append(
                f"{sign}{group_title(demand.group)} {_amount(m.garden, demand, plan, grams)}"
            )
    text = ", ".join(parts)
    when = used(m.garden, t)
    if when:
        text += f"; {when}"
    if t.most is not None and t.gain + LEAST * m.wish < t.most < m.wish - m.value - 0.5:
        text += _("; at most {most}").format(most=share(m, t.most, True))
    return text


def used(garden: Garden, t: Tried) -> str:
    """When, and how far, the plan found needs what the garden as it is forbids."""
    name, when = t.relaxation.rule, _when(t.dates)
    if name == rules.NURSERY.name and t.dates:
        return _("up to {amount:.0f} more in use {when}").format(amount=Shown(t.amount), when=when)
    if name == rules.LIFT.name and t.times:
        limit = garden.limits.lift_kg or 0.0
        most = load(limit + t.amount, garden.units)
        return (
            _("one lift of {most}").format(most=most)
            if t.times == 1
            else _("{times} lifts of up to {most}").format(times=t.times, most=most)
        )
    if name in (rules.DRY.name, rules.OCCUPANCY.name) and t.times:
        return _("used {times}").format(times=_times(t.times))
    if t.dates:
        return plural(
            "used on {n} day, {when}", "used on {n} days, {when}", len(t.dates), when=when
        )
    return ""


def _times(n: int) -> str:
    return {1: _("once"), 2: _("twice")}.get(n, _("{n} times").format(n=n))


def _when(days: Sequence[date]) -> str:
    """Runs of days, ``3 to 28 May``; months where there are many runs."""
    spans = _runs(days, 1)
    if len(spans) <= MOST_SPANS:
        return _and([days_text(a, b) for a, b in spans])
    months = list(dict.fromkeys((d.year, d.month) for d in days))
    names = [_(MONTHS[month - 1]) for _year, month in months]
    if len(names) > 2:
        return _("from {first} to {last}").format(first=names[0], last=names[-1])
    return _("in {names}").format(names=_and(names))


def _runs(days: Sequence[date], step: int) -> list[tuple[date, date]]:
    """Days in a row as (first, last)."""
    out: list[tuple[date, date]] = []
    for day in days:
        if out and (day - out[-1][1]).days <= step:
            out[-1] = (out[-1][0], day)
        else:
            out.append((day, day))
    return out


def _and(texts: Sequence[str]) -> str:
    return _(" and ").join([", ".join(texts[:-1]), texts[-1]] if len(texts) > 1 else texts)


def _groups_of(m: MustGive, tried: Sequence[Tried]) -> Iterator[str]:
    """Those that cannot help, those of which nothing was found, those not tried."""
    for outcome, words in (
        (NOTHING, _("No gain was found with")),
        (
            CANNOT,
            _("Cannot bring {least:.1f} % of the wish, proven:").format(least=Shown(100 * LEAST)),
        ),
        (UNTRIED, _("Not tried for want of time:")),
    ):
        mine = [t for t in tried if t.outcome == outcome]
        if mine:
            text = "; ".join(_named(m, mine))
            if outcome != CANNOT and m.bound is not None:
                text += _(". At most {value}, where nothing else is said").format(
                    value=share(m, m.bound - m.value, True)
                )
            yield from lines_of(f"{words} {text}.", "  ", "    ")
    for t in tried:
        if t.broken:
            yield from lines_of(
                _(
                    "{text}: the plan found broke {broken} and was thrown away. Please report it."
                ).format(text=t.relaxation.text, broken=", ".join(t.broken)),
                "  ",
                "    ",
            )


def _named(m: MustGive, tried: Sequence[Tried]) -> Iterator[str]:
    """Texts; of a family that has more than one the first in full."""
    families: dict[str, list[Tried]] = {}
    for t in tried:
        key = t.relaxation.family if t.relaxation.short else t.relaxation.text
        families.setdefault(key, []).append(t)
    for first, *others in families.values():
        if others:
            shorts = ", ".join(_most(m, t, t.relaxation.short) for t in others)
            yield _("{text}, or the same with {shorts}").format(
                text=_most(m, first, first.relaxation.text), shorts=shorts
            )
        else:
            yield _most(m, first, first.relaxation.text)


def _most(m: MustGive, t: Tried, text: str) -> str:
    """A text, with what it may bring at most where that is more than the garden as it is may."""
    own = None if m.bound is None else m.bound - m.value + LEAST * m.wish
    if t.outcome == CANNOT or t.most is None or own is None or t.most <= own:
        return text
    return _("{text} (at most {most})").format(text=text, most=share(m, t.most, True))


def data(m: MustGive, against: dict[str, str] | None = None) -> dict[str, Any]:
    """Everything, for machines: weighted grams where it says so, dates ISO 8601."""
    garden = m.garden
    table = serve(garden, m.plan.batches)
    return {
        "garden": garden.name,
        "weighted_grams": {"wish": m.wish, "given": m.given, "met": m.value, "bound": m.bound},
        "unmet": [{"group": u.group, "week": u.week, "grams": u.grams} for u in table.unmet()],
        "out_of_reach": [
            {
                "group": r.group,
                "weeks": list(r.weeks),
                "grams": r.grams,
                "crop": r.crop,
                "sow": _iso(r.sow),
                "first_pick": _iso(r.first),
                "last_pick": _iso(r.last),
            }
            for r in m.reach
        ],
        "wish_weeks": [
            {
                "group": one.group,
                "spans": [[a.isoformat(), b.isoformat()] for a, b in one.spans],
                "met": one.met,
                "before": one.before,
            }
            for one in wish_weeks(garden, m.plan)
        ],
        "against": against or {},
        "seconds_each": m.seconds,
        "steps": [_tried(m, t) for t in m.steps],
        "rules": [_tried(m, t) for t in m.rules],
    }


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _tried(m: MustGive, t: Tried) -> dict[str, Any]:
    plan = t.plan or m.plan
    return {
        "text": t.relaxation.text,
        "rule": t.relaxation.rule,
        "family": t.relaxation.family,
        "outcome": t.outcome,
        "gain": t.gain,
        "sure": t.sure,
        "most": t.most,
        "share": t.gain / max(m.wish, 1.0),
        "groups": t.groups,
        "heads": {
            d.group: heads(m.garden, d, plan, t.groups[d.group])
            for d in m.garden.demands
            if t.groups.get(d.group)
        },
        "dates": [d.isoformat() for d in t.dates],
        "times": t.times,
        "amount": t.amount,
        "seconds": round(t.seconds, 2),
        "broken": list(t.broken),
    }
