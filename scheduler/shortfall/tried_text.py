"""What came of each change, in the grower's words: rules dropped, single steps, and the rest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from scheduler.garden.model import Garden
from scheduler.plans import rules as rules
from scheduler.shortfall.answer import (
    CANNOT,
    FOUND,
    HELPS,
    LEAST,
    NOTHING,
    UNTRIED,
    MustGive,
    OverYears,
    Tried,
)
from scheduler.shortfall.said import WIDTH, amount, and_, lines_of, runs, share
from scheduler.shortfall.window_words import days_text
from scheduler.words import units as show
from scheduler.words.language import _, plural
from scheduler.words.units import load
from scheduler.words.words import MONTHS, Shown, group_title, pad, wrap

_FIGURE = 14  # width of "~ under 0.1 %" and a space
MOST_SPANS = 3  # spans of days named; beyond that months are


def rule_lines(m: MustGive) -> Iterator[str]:
    shown = _shown(m, m.rules)
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


def step_lines(m: MustGive) -> Iterator[str]:
    shown = _shown(m, m.steps)
    yield ""
    if shown:
        yield (
            _("What one step would add to the wish met, on average over the years")
            if m.over
            else _("What one step would add to the wish met")
        )
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
    if m.over is not None:
        yield from _over(m, m.over)
        return
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


def _shown(m: MustGive, tried: Sequence[Tried]) -> list[Tried]:
    """Those with a figure: over years no difference is told that can be chance."""
    told = (HELPS, FOUND) if m.over is None else (HELPS,)
    return [t for t in tried if t.outcome in told]


def _over(m: MustGive, over: OverYears) -> Iterator[str]:
    """How it was judged."""
    if not any(t.outcome in (HELPS, FOUND, NOTHING) for t in (*m.steps, *m.rules)):
        return
    yield ""
    yield from lines_of(
        _(
            "Each was planned anew from the same plan, by {seconds:.0f} s at most of living it in "
            "{planned} planning years; every plan found keeps every rule of its garden. What it "
            "brings is told from {judged} other years, the same with and without the change. One "
            "at a time: two together may bring more or less than their sum."
        ).format(planned=over.planned, seconds=Shown(m.seconds), judged=over.judged)
    )
    if over.apart is not None:
        yield from lines_of(
            _(
                "{count} searches of the garden as it is, alike but for chance, ended {apart} "
                "apart. A change that brings less than that, or no more than the years can tell "
                "from nothing, is too close to call."
            ).format(
                count=over.searches,
                apart=share(m, over.apart) if over.apart > 0 else show.share(0.0),
            )
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
                f"{sign}{group_title(demand.group)} {amount(m.garden, demand, plan, grams)}"
            )
    text = ", ".join(parts)
    when = used(m.garden, t)
    if when:
        text += f"; {when}"
    if t.paired is not None:
        text += _("; in four of five years {low} to {high}").format(
            low=_signed(m, t.paired.low), high=_signed(m, t.paired.high)
        )
    if t.most is not None and t.gain + LEAST * m.wish < t.most < m.wish - m.value - 0.5:
        text += _("; at most {most}").format(most=share(m, t.most, True))
    return text


def _signed(m: MustGive, grams: float) -> str:
    """A share of the wish with its sign."""
    return f"{'-' if grams < 0 else '+'} {show.share(abs(grams) / max(m.wish, 1.0))}"


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
    spans = runs(days, 1)
    if len(spans) <= MOST_SPANS:
        return and_([days_text(a, b) for a, b in spans])
    months = list(dict.fromkeys((d.year, d.month) for d in days))
    names = [_(MONTHS[month - 1]) for _year, month in months]
    if len(names) > 2:
        return _("from {first} to {last}").format(first=names[0], last=names[-1])
    return _("in {names}").format(names=and_(names))


def _groups_of(m: MustGive, tried: Sequence[Tried]) -> Iterator[str]:
    """Those that cannot help, those of which nothing was found, those not tried."""
    close = [(FOUND, _("Too close to call:"))] if m.over else []
    for outcome, words in (
        *close,
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
