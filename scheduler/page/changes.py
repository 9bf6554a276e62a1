"""A new plan beside the one the grower knows, in words: what is lost, moved, new, and why."""

from __future__ import annotations

from typing import Any

from scheduler.base.weeks import week_of, week_start
from scheduler.garden.model import Garden
from scheduler.outputs.changed import course, moved
from scheduler.outputs.drawing.season import season
from scheduler.outputs.drawing.svg import PATTERNS
from scheduler.outputs.sentences import crop_title
from scheduler.page.again import Search
from scheduler.plans.model import Batch
from scheduler.replanning.diff import DROPPED, ENDED, KEPT, MOVED, NEW, Change, Diff
from scheduler.replanning.staying import Names, staying
from scheduler.schedule.stages import EFFORT, EVENNESS, PRODUCE
from scheduler.words.units import share
from scheduler.words.words import N_, Units, _, group_title, plural, short_date, tier_label

HEADS = {ENDED: N_("Lost"), DROPPED: N_("Dropped"), MOVED: N_("Moved"), NEW: N_("New")}
STAGES = {
    PRODUCE: N_("most of the wish met"),
    EVENNESS: N_("least waste, even weeks"),
    EFFORT: N_("least work"),
}


def running(search: Search) -> dict[str, Any]:
    """How far a search is."""
    p = search.progress
    limit = search.wish.seconds
    return {
        "seconds": min(int(search.seconds), int(limit)),
        "limit": int(limit) or 1,
        "stage": _(STAGES.get(p.stage, p.stage)) if p else _("looking for a way to go on"),
        "halting": search.halt.is_set(),
    }


def shown(search: Search) -> dict[str, Any]:
    """The outcome of a search."""
    assert search.outcome is not None
    done = search.outcome.done
    garden, units = search.garden, search.book.season().units
    old = {b.id: b for b in search.plan.batches}
    new = {b.id: b for b in done.plan.batches}
    groups = [
        (
            kind,
            _(head),
            [_row(garden, units, c, old.get(c.id), new.get(c.id)) for c in done.diff.of(kind)],
        )
        for kind, head in HEADS.items()
        if done.diff.of(kind)
    ]
    kept = len(done.diff.of(KEPT))
    weeks = [w for w in done.diff.weeks if w.before != w.after]
    since = week_of(search.wish.on)
    return {
        "on": short_date(search.wish.on),
        "searched": done.searched,
        "stay": list(staying(done, _names(garden))) if done.stay else [],
        "remarks": [_remark(garden, old, r) for r in done.remarks],
        "groups": groups,
        "kept": plural("{n} batch stays as it was.", "{n} batches stay as they were.", kept),
        "weeks": [
            (
                w.week,
                short_date(week_start(w.week)),
                group_title(w.group),
                units.mass_text(w.wish),
                units.mass_text(w.before),
                units.mass_text(w.after),
                w.after < w.before,
            )
            for w in weeks
            if w.week >= since
        ],
        "met": _met(done.diff),
        "trial": search.trial,
        **_sides(search),
    }


def _sides(search: Search) -> dict[str, Any]:
    """Both seasons drawn, with a heavy frame around each batch that is not in both alike."""
    assert search.outcome is not None
    done = search.outcome.done
    changed = {c.id for c in done.diff.changes if c.kind != KEPT}
    return {
        "patterns": PATTERNS,
        "sides": [
            (
                _("As it was"),
                season(search.book.season().garden, search.plan, search.wish.on, changed),
            ),
            (_("As it would be"), season(search.garden, done.plan, search.wish.on, changed)),
        ],
    }


def _met(diff: Diff) -> str:
    """What is met of the season's wish, before and now; empty where nothing is wished."""
    if diff.met is None:
        return ""
    before, now, weighted = diff.met
    text = _("Of the wish {before} was met; now it is {after}.")
    if weighted:
        text = _("Of the wish, by the garden's weights, {before} was met; now it is {after}.")
    return text.format(before=share(before), after=share(now))


def _names(garden: Garden) -> Names:
    """The page names a batch by its tier, not by its number."""

    def crop(b: Batch) -> str:
        return crop_title(garden, b.crop)

    return Names(lambda b: f"{crop(b)} ({tier_label(b.column, b.tier)})", crop)


def _remark(garden: Garden, known: dict[str, Batch], text: str) -> tuple[str, str, str]:
    """Tag, crop and text of a remark; the page names a batch by its tier, not by its number."""
    name = text.split(" ", 1)[0].strip(":,")
    b = known.get(name)
    if b is None:
        return "", "", text
    rest = text[len(name) :].removeprefix(f" ({b.crop})").removeprefix(f" in {b.column} {b.tier}")
    return tier_label(b.column, b.tier), crop_title(garden, b.crop), rest.lstrip(" ,:")


def _row(
    garden: Garden, units: Units, change: Change, old: Batch | None, new: Batch | None
) -> dict[str, str]:
    if change.kind == MOVED and old and new:
        what = moved(old, new) or change.what
    elif change.kind == ENDED and new:
        what = ""
    else:
        batch = new or old
        what = course(batch, units) if batch else ""
    return {
        "tag": tier_label(change.column, change.tier) if change.column else "",
        "crop": crop_title(garden, change.crop),
        "what": what,
        "why": change.why,
    }
