"""What must give, in the grower's words: lines of at most 79 characters."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.base.weeks import week_start
from scheduler.garden.model import ONE_DAY, Garden
from scheduler.plans.restrictions import CUTS, MORE, among, that_bind
from scheduler.schedule import assemble
from scheduler.shortfall.answer import LEAST, MustGive, OverYears, served, unmet
from scheduler.shortfall.reach import Reach
from scheduler.shortfall.said import amount, and_, lines_of, runs, share, title
from scheduler.shortfall.tried_text import rule_lines, step_lines
from scheduler.shortfall.window_words import day_text, days_text
from scheduler.shortfall.wish_weeks import wish_weeks
from scheduler.words import units as show
from scheduler.words.language import _, plural
from scheduler.words.units import mass
from scheduler.words.words import group_title

MOSTLY = 0.5  # share of the years in which a week is short, to be told


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
    out += list(rule_lines(m))
    out += list(step_lines(m))
    return out


def _met(m: MustGive) -> str:
    what = show.of_the_wish(assemble.by_weights(m.garden))
    if m.over is not None and m.wish:
        return _met_over(m, m.over, what)
    text = _("The plan meets {value} {what}.").format(value=share(m, m.value), what=what)
    if m.met:
        return _("The plan meets every wish.") if m.wish else _("Nothing is wished in this season.")
    if m.given is not None and m.value > m.given + 0.5:
        text = _("The plan met {given} {what}; searching on brought it to {value}.").format(
            given=share(m, m.given), what=what, value=share(m, m.value)
        )
    if m.large:
        text += _(
            " That is in the weather to be expected: this garden has too many tiers to live every "
            "change over the years."
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


def _met_over(m: MustGive, over: OverYears, what: str) -> str:
    """What the plan brings on the mean of years that made it not."""
    text = _(
        "Lived in {n} weather years that had no part in making it, the plan on average meets "
        "{value} {what}"
    ).format(n=over.judged, value=share(m, m.value if m.given is None else m.given), what=what)
    if m.given is not None and abs(m.value - m.given) > LEAST * m.wish:
        text += _("; with a further search {value}").format(value=share(m, m.value))
    text += _(" ({usual} in a usual year).").format(usual=share(m, over.usual))
    if m.met:
        return text + _(" That is every wish, or next to it.")
    if over.real:
        text += _(" Of these years {n} are past years.").format(n=over.real)
    return text


def _short(m: MustGive) -> list[str]:
    garden = m.garden
    lacks = unmet(m)
    out = [_("Short of the wish") if m.over is None else _("Short of the wish, on average")]
    for demand in garden.demands:
        mine = [u for u in lacks if u.group == demand.group]
        weeks = [u for u in mine if u.years is None or u.years > MOSTLY]
        grams = sum(u.grams for u in mine)
        if not weeks:
            if grams >= 1:
                out += lines_of(
                    _("{group}: {grams}; no week is short in most years").format(
                        group=group_title(demand.group),
                        grams=amount(garden, demand, m.plan, grams),
                    ),
                    "  ",
                    "    ",
                )
            continue
        span = days_text(week_start(weeks[0].week), week_start(weeks[-1].week) + 6 * ONE_DAY)
        count = plural("{n} week", "{n} weeks", len(weeks))
        out += lines_of(
            (
                _("{group}: {grams}, in {count}, {span}")
                if m.over is None
                else _("{group}: {grams}, in most years in {count}, {span}")
            ).format(
                group=group_title(demand.group),
                grams=amount(garden, demand, m.plan, grams),
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
        yield from lines_of(text + (f", {_(CUTS.short)}" if CUTS in that_bind(m.garden) else ""))
    for r in missed:
        yield from lines_of(reach_text(m.garden, r), "  ", "    ")
        demand = next(d for d in m.garden.demands if d.group == r.group)
        for name in demand.crops:
            if name in against:
                yield from lines_of(f"{title(m.garden, name)}: {against[name]}", "    ", "      ")


def _wish_weeks(m: MustGive) -> Iterator[str]:
    """In which weeks each wish is worth having, as the plan stands."""
    found = wish_weeks(m.garden, m.plan, served(m))
    if found:
        yield ""
        yield _("Wished in other weeks, by this plan")
    for one in found:
        spans = and_([days_text(a, b) for a, b in one.spans])
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
        for a, b in runs(weeks, 7)
    ]
    text = _("{group}: {grams} wished {spans}").format(
        group=group_title(r.group), grams=mass(r.grams, garden.units), spans=and_(spans)
    )
    if r.first is None or r.sow is None or r.last is None:
        return text + _("; no crop of it can be picked in any tier this season")
    if any(w < r.first for w in weeks):
        text += _("; the first pick there can be is on {first} ({crop}, sown {sow})").format(
            first=day_text(r.first), crop=title(garden, r.crop), sow=day_text(r.sow)
        )
    if any(w > r.last for w in weeks):
        text += _("; the last pick there can be is on {last}").format(last=day_text(r.last))
    for first, last, why in r.gaps:
        if why:
            when = _("then") if len(spans) == 1 else days_text(first, last)
            text += _("; what would be ripe {when}: {why}").format(when=when, why=why)
    return text
