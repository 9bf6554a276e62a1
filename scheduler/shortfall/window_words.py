"""Reasons of sowing windows in the grower's words, for one date or for a run of dates."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from crops.crop import Crop
from crops.development import extremes
from crops.survival import frosts
from crops.years import carried_by
from scheduler.batches import window_reasons as r
from scheduler.batches.window_reasons import Why
from scheduler.garden.baths import warm_days
from scheduler.garden.kinds import Kind
from scheduler.garden.model import Garden, Tier
from scheduler.words.words import MONTHS, WEEKDAYS, Units, _, plural

FROST_TENTHS = (5, 3, 1)  # years of ten for which frost is told
MOST_NAMED = 8  # groups of tiers named in a label; the rest is counted


def day_text(day: date, year: bool = False) -> str:
    """``6 Aug``, or ``6 Aug 2027``."""
    text = _("{day} {month}").format(day=day.day, month=_(MONTHS[day.month - 1])[:3])
    return f"{text} {day.year}" if year else text


def days_text(first: date, last: date) -> str:
    """``6 to 15 Aug``, ``28 May to 4 Jun``, ``6 Aug``; years only where they differ."""
    if first == last:
        return day_text(first)
    years = first.year != last.year
    same = (first.year, first.month) == (last.year, last.month)
    start = str(first.day) if same else day_text(first, years)
    return _("{start} to {end}").format(start=start, end=day_text(last, years))


def frost_text(garden: Garden) -> str:
    """Until when and from when on there is frost in the season, in how many years of ten."""
    season, weather = garden.season, garden.site.weather
    low = extremes(weather)[0][:, : season.days]
    if len(low) == 1:
        return _frost_of_a_year(garden, *frosts(low))
    until, again = [], []
    for tenths in FROST_TENTHS:
        # No fewer years than these have frost on that day or later, on that or sooner.
        last, first = frosts(low, tenths / 10 - 1 / len(low))
        if last >= 0:
            until.append(_("{n} until {day}").format(day=day_text(season.date(last)), n=tenths))
        if first < season.days:
            again.append(_("{n} from {day} on").format(day=day_text(season.date(first)), n=tenths))
    if not until and not again:
        return _("No frost is to be reckoned with.")
    said = "; ".join(", ".join(part) for part in (until, again) if part)
    return _("Frost in so many of 10 years: {said}.").format(said=said)


def _frost_of_a_year(garden: Garden, last: int, first: int) -> str:
    until = None if last < 0 else day_text(garden.season.date(last))
    again = None if first >= garden.season.days else day_text(garden.season.date(first))
    if until is None and again is None:
        return _("No frost is to be reckoned with.")
    if until is None:
        return _("Frost from {first} on.").format(first=again)
    if again is None:
        return _("Frost until {last}.").format(last=until)
    return _("Frost until {last} and from {first} on.").format(last=until, first=again)


def warm_text(garden: Garden, crop: Crop, tiers: Sequence[Tier], units: Units) -> str:
    """In how many of ten years the solution of some tiers is warmer than a crop bears, and when.

    Empty where that is less than one, and of the mean year where it is on no day.
    """
    found = [warm for t in tiers if (warm := warm_days(garden, crop, t)) is not None]
    if not found:
        return ""
    first, last = min(w.first for w in found), max(w.last for w in found)
    said = {
        "most": units.temperature_text(crop.heat_limit),
        "when": days_text(garden.season.date(first), garden.season.date(last)),
    }
    if carried_by(garden.site.weather) is None:
        return _("solution above {most}: {when}").format(**said)
    tenths = sorted({max(round(10 * w.share), 1) for w in found})
    return _("solution above {most} in {n} of 10 years: {when}").format(n=_range(tenths), **said)


def why_text(whys: Sequence[Why], units: Units) -> str:
    """What stands against dates that have the same reason; figures as ranges where they differ.

    Parameters
    ----------
    whys : one or more, all of one code.
    """
    return _SAY[whys[0].code](whys, units)


def _all(whys: Sequence[Why], name: str) -> list[Any]:
    return [w.figures[name] for w in whys if name in w.figures]


def _range(values: Sequence[float]) -> str:
    """``7`` or ``7 to 9``."""
    low, high = min(values), max(values)
    if f"{low:g}" == f"{high:g}":
        return f"{low:g}"
    return _("{start} to {end}").format(start=f"{low:g}", end=f"{high:g}")


def _dates(days: Sequence[date]) -> str:
    return days_text(min(days), max(days))


def _unit(n: int) -> str:
    return _("day") if n == 1 else _("days")


def _works(whys: Sequence[Why], units: Units) -> str:
    ready = _all(whys, "ready")
    if not ready:
        return _("ready young alone")
    return _("ready {dates}").format(dates=_dates(ready))


def _dark(whys: Sequence[Why], units: Units) -> str:
    needed = whys[0].figures["dli_needed"]
    # Rounded down: "10 of 10 needed" would explain nothing.
    got = [
        math.floor(v * (1 if v < needed - 1 else 10)) / (1 if v < needed - 1 else 10)
        for v in _all(whys, "dli")
    ]
    return _("too dark: DLI {got} of {needed} needed").format(got=_range(got), needed=f"{needed:g}")


def _dry(whys: Sequence[Why], units: Units) -> str:
    before = _all(whys, "days_before_ready")
    margin = whys[0].figures["margin"]
    when = _("dry on {date}").format(date=day_text(whys[0].figures["dry"]))
    if len(whys) > 1:
        when = _("dry")
    if min(before) > 0:
        n = max(before)
        text = (
            _("{when}, {n} {days} before ready")
            if len(whys) == 1
            else _("{when} {n} {days} before ready")
        )
        return text.format(when=when, n=_range(before), days=_unit(n))
    if len(whys) == 1:
        pick = whys[0].figures.get("pick")
        if pick is None:  # the season ends before it can be picked
            return _("{when}, too soon for a pick").format(when=when)
        first = day_text(pick)
        after = int(whys[0].figures["days_after_pick"])
        if after < 0:
            return _("{when}, before the first work day to pick it, {first}").format(
                when=when, first=first
            )
        return _(
            "{when}, {n} {days} after the first pick on {first}; the limit asks for {margin}"
        ).format(when=when, n=after, days=_unit(after), first=first, margin=margin)
    if max(before) > 0:
        return _("dry too soon, up to {n} {days} before ready").format(
            n=max(before), days=_unit(max(before))
        )
    return _("dry less than {margin} {days} after the first pick").format(
        margin=margin, days=_unit(margin)
    )


def _salty(whys: Sequence[Why], units: Units) -> str:
    shares = [math.ceil(100 * v) for v in _all(whys, "lost")]  # never "10 %", which is allowed
    return _("too salty as it is drunk down: {share} % of the crop lost, even at EC {fill}").format(
        share=_range(shares), fill=f"{whys[0].figures['fill']:g}"
    )


def _dry_years(whys: Sequence[Why], units: Units) -> str:
    shares = [round(100 * v) for v in _all(whys, "dry_share")]
    return _("dry before its last pick in {share} % of the years; at most {most} % may be").format(
        share=_range(shares), most=round(100 * whys[0].figures["most_lost"])
    )


def _cold(whys: Sequence[Why], units: Units) -> str:
    return _dies(
        whys,
        _("cold kills it {when}"),
        _("cold kills it in {share} % of the years, {when}; at most {most} % may be"),
    )


def _heat(whys: Sequence[Why], units: Units) -> str:
    said = _dies(
        whys,
        _("heat kills it {when}"),
        _("heat kills it in {share} % of the years, {when}; at most {most} % may be"),
    )
    if any(_all(whys, "not_white")):
        return said + _(" (cooler: white or wrapped vessels, shade, a lower tier)")
    return said + _(" (cooler: shade, a lower tier)")


def _dies(whys: Sequence[Why], mean_year: str, in_years: str) -> str:
    when = _dates([*_all(whys, "first_death"), *_all(whys, "last_death")])
    shares = [round(100 * v) for v in _all(whys, "killed_share")]
    if not shares:
        return mean_year.format(when=when)
    most = round(100 * whys[0].figures["most_killed"])
    return in_years.format(share=_range(shares), when=when, most=most)


def _bolts(whys: Sequence[Why], units: Units) -> str:
    heats, hours = set(_all(whys, "heat")), set(_all(whys, "daylength"))
    marks = []
    if heats:
        marks.append(units.temperature_text(heats.pop()))
    if hours:
        marks.append(f"{hours.pop():g} h")
    both = all("heat" in w.figures and "daylength" in w.figures for w in whys)
    count, colds = _all(whys, "bolting_days"), _all(whys, "cold")
    said = {
        "n": _range(count),
        "days": _unit(max(count)),
        "most": whys[0].figures["bolting_allowed"],
    }
    full = _all(whys, "full_daylength")
    if full and not marks:
        text = _("bolts: as after {n} warm {days} of {hours} h; it stands {most}").format(
            hours=f"{full[0]:g}", **said
        )
    elif colds and not marks:
        below = units.temperature_text(colds[0])
        text = _("bolts: {n} {days} below {cold}; it stands {most}").format(cold=below, **said)
    else:
        over = (_(" and ") if both else _(" or ")).join(marks)
        partly = any(w.figures.get("partly") for w in whys)
        text = (
            _("bolts: as after {n} {days} over {marks}; it stands {most}")
            if partly
            else _("bolts: {n} {days} over {marks}; it stands {most}")
        ).format(marks=over, **said)
    slow = _all(whys, "slow_allowed")
    if slow:
        text += _(", slow kinds {n}").format(n=slow[0])
    picks = _all(whys, "pick")
    if len(picks) == len(whys):
        text += _(", first work day to pick {dates}").format(dates=_dates(picks))
    return text


def _late(whys: Sequence[Why], units: Units) -> str:
    text = _("not ready before the season ends")
    late, figures = _all(whys, "days_late"), whys[0].figures
    if len(late) == len(whys) and min(late) > 0:
        return text + _(": {n} {days} late").format(n=_range(late), days=_unit(max(late)))
    if len(whys) > 1:
        return text
    if "fit" in figures:
        return text + _(": seedlings fit {date}").format(date=day_text(figures["fit"]))
    if late:
        return text + _(": {date} is past the last work day").format(
            date=day_text(figures["ready"])
        )
    return text


def _no_work(whys: Sequence[Why]) -> str:
    """Why there is no work: away, or other weekdays."""
    away = sorted({span for spans in _all(whys, "away") for span in spans})
    parts = []
    if away:
        spans = [days_text(first, last) for first, last in away]
        parts.append(_("you are away {spans}").format(spans=_(" and ").join(spans)))
    weekdays = next(iter(_all(whys, "weekdays")), ())
    if weekdays and not away:
        names = ", ".join(_(WEEKDAYS[d])[:3] for d in weekdays)
        parts.append(_("you work {weekdays}").format(weekdays=names))
    weekdays = next(iter(_all(whys, "pick_days")), ())
    if weekdays and not away:
        names = ", ".join(_(WEEKDAYS[d])[:3] for d in weekdays)
        parts.append(_("you pick {weekdays}").format(weekdays=names))
    return ", ".join(parts)


def _span(whys: Sequence[Why]) -> str:
    return days_text(min(_all(whys, "first")), max(_all(whys, "last")))


def _no_pick(whys: Sequence[Why], units: Units) -> str:
    return _("ready and good {span}: {reason}").format(span=_span(whys), reason=_no_work(whys))


def _no_transplant(whys: Sequence[Why], units: Units) -> str:
    return _("seedlings fit {span}: {reason}").format(span=_span(whys), reason=_no_work(whys))


def _no_sow(whys: Sequence[Why], units: Units) -> str:
    if not _all(whys, "first"):
        return _("no seedling of the right age")
    return _("no seedling: to be sown {span}, {reason}").format(
        span=_span(whys), reason=_no_work(whys)
    )


def _before(whys: Sequence[Why], units: Units) -> str:
    return _("no seedling: sow before the season starts on {date}").format(
        date=day_text(whys[0].figures["season_start"])
    )


def _closed(whys: Sequence[Why], units: Units) -> str:
    spans = _(" and ").join(days_text(a, b) for a, b in whys[0].figures["spans"])
    text = _("tier to be had only {spans}").format(spans=spans)
    ready = _all(whys, "ready")
    if len(ready) == len(whys):
        text += _("; ready {dates}").format(dates=_dates(ready))
    return text


def _rests(whys: Sequence[Why], units: Units) -> str:
    figures = whys[0].figures
    return _("after root disease {family} may not stand here until {date}").format(
        family=figures["family"], date=day_text(figures["until"])
    )


def _never(whys: Sequence[Why], units: Units) -> str:
    spans = _(" and ").join(days_text(a, b) for a, b in whys[0].figures["spans"])
    return _("the garden says never here {spans}").format(spans=spans)


def _long(whys: Sequence[Why], units: Units) -> str:
    return _("stands longer than {n} days").format(n=whys[0].figures["most_days"])


def _other(whys: Sequence[Why], units: Units) -> str:
    return _("breaks a rule: {rule}").format(rule=whys[0].figures["rule"])


_SAY: dict[str, Callable[[Sequence[Why], Units], str]] = {
    r.WORKS: _works,
    r.DARK: _dark,
    r.DRY: _dry,
    r.DRY_YEARS: _dry_years,
    r.SALTY: _salty,
    r.BOLTS: _bolts,
    r.COLD: _cold,
    r.HEAT: _heat,
    r.LATE: _late,
    r.NO_PICK_DAY: _no_pick,
    r.NO_TRANSPLANT_DAY: _no_transplant,
    r.NO_SOW_DAY: _no_sow,
    r.BEFORE_SEASON: _before,
    r.NOT_AVAILABLE: _closed,
    r.RESTS: _rests,
    r.FORBIDDEN: _never,
    r.LONG: _long,
    r.OTHER: _other,
}


def kinds_label(garden: Garden, kinds: Sequence[Kind]) -> str:
    """Tiers by name: ``A-D tiers 1 to 3, E tier 1``; ``every tier`` where these are all.

    Of a large and mixed garden only the first are named.
    """
    wanted = {place for kind in kinds for place in kind.places}
    if len(wanted) == sum(len(col.tiers) for col in garden.columns):
        return _("every tier")
    # Columns in a row whose same tiers are meant are named together.
    groups: list[tuple[list[str], tuple[int, ...]]] = []
    last = -2
    for i, column in enumerate(garden.columns):
        tiers = tuple(t.number for t in column.tiers if (column.name, t.number) in wanted)
        if not tiers:
            continue
        if groups and groups[-1][1] == tiers and last == i - 1:
            groups[-1][0].append(column.name)
        else:
            groups.append(([column.name], tiers))
        last = i
    parts = []
    more = sum(len(names) * len(tiers) for names, tiers in groups[MOST_NAMED:])
    for names, tiers in groups[:MOST_NAMED]:
        word = _("tier") if len(tiers) == 1 else _("tiers")
        parts.append(f"{_names(names)} {word} {_numbers(tiers)}")
    if more:
        parts.append(plural("{n} tier more", "{n} tiers more", more))
    return ", ".join(parts)


def _names(names: Sequence[str]) -> str:
    if len(names) < 3:
        return _(" and ").join(names)
    if all(len(n) <= 2 for n in names):
        return f"{names[0]}-{names[-1]}"
    return _("{start} to {end}").format(start=names[0], end=names[-1])


def _numbers(tiers: Sequence[int]) -> str:
    """``1``, ``1 and 2``, ``1 to 3``, ``1, 2 and 4``."""
    if len(tiers) > 2 and tiers[-1] - tiers[0] == len(tiers) - 1:
        return _("{start} to {end}").format(start=tiers[0], end=tiers[-1])
    texts = [str(t) for t in tiers]
    return _(" and ").join([", ".join(texts[:-1]), texts[-1]] if len(texts) > 1 else texts)
