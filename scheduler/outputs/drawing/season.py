"""The season: columns and tiers down, weeks across, which crop stands where."""

from __future__ import annotations

from collections.abc import Container
from datetime import date, timedelta
from html import escape

from scheduler.base.weeks import week_start
from scheduler.garden.model import Garden
from scheduler.garden.weekly import season_weeks
from scheduler.outputs.drawing.svg import (
    Days,
    days_in_words,
    frame,
    group_number,
    line,
    path,
    rect,
    shortened,
    text,
)
from scheduler.outputs.sentences import crop_title
from scheduler.plans.model import FAILED, Plan
from scheduler.words.language import batches_text
from scheduler.words.words import _, plural, tier_label

_LEFT, _TOP, _ROW, _WIDE = 96.0, 44.0, 24.0, 1160.0


def season(
    garden: Garden, plan: Plan, today: date | None = None, marked: Container[str] = ()
) -> str:
    """The drawing; 1160 wide, as high as the tiers need.

    ``today``: a day to draw a line at; ``marked``: ids of batches to draw a heavy frame around.
    """
    rows = [(c, t) for c in garden.columns for t in c.tiers]
    low = _TOP + _ROW * len(rows)
    x = Days(garden.season.start, garden.season.end, _LEFT, _WIDE - 8)
    out = _scale(garden, x, low)
    where = {(c.name, t.number): i for i, (c, t) in enumerate(rows)}
    for i, (column, tier) in enumerate(rows):
        y = _TOP + i * _ROW
        out.append(line(0, y, _WIDE, y, "rule" if tier.number == 1 else "grid"))
        label = tier_label(column.name, tier.number)
        shown = label if len(label) <= 13 else label[:5] + "\u2026" + label[-6:]
        points = [(8, y + 4), (84, y + 4), (84, y + 20), (8, y + 20), (2, y + 14), (2, y + 10)]
        out.append(path(points, "tagline", closed=True))
        out.append(f'<circle cx="9" cy="{y + 12:g}" r="2" class="tagline"/>')
        out.append(text(16, y + 16, shown, "tagtext"))
    for batch in plan.batches:
        row = where.get((batch.column, batch.tier))
        if row is None:
            continue
        y = _TOP + row * _ROW
        x1, x2 = x(batch.transplant), x(batch.clear + timedelta(days=1))
        title = crop_title(garden, batch.crop)
        says = f"{tier_label(batch.column, batch.tier)} {title}, "
        says += days_in_words(batch.transplant, batch.clear)
        tip = f"<title>{escape(says)}</title>"
        n = group_number(garden, batch.crop)
        css = f"g{n}" + (" lost" if batch.state == FAILED else "")
        css += " marked" if batch.id in marked else ""
        out.append(rect(x1, y + 3, x2 - x1, _ROW - 6, css, tip))
        if n:
            out.append(rect(x1, y + 3, x2 - x1, _ROW - 6, f"over h{n}"))
        for pick in batch.picks:
            at = min(x(pick.date) + x.step / 2, x2 - 3)
            marks = [(at - 3, y + _ROW - 3), (at + 3, y + _ROW - 3), (at, y + _ROW - 9)]
            out.append(path(marks, "mark", closed=True))
        shown = shortened(title, int((x2 - x1 - 6) / 6.4))
        if shown:
            out.append(text(x1 + 4, y + 16, shown, "bar"))
    out.append(line(0, low, _WIDE, low, "rule"))
    if today is not None and garden.season.start <= today <= garden.season.end:
        out.append(line(x(today), _TOP - 14, x(today), low, "now"))
    says = _("Season: {batches} in {tiers}; the table below says the same.").format(
        batches=batches_text(len(plan.batches)), tiers=plural("{n} tier", "{n} tiers", len(rows))
    )
    return frame(_WIDE, low + 4, says, out, "season")


def _scale(garden: Garden, x: Days, low: float) -> list[str]:
    season = garden.season
    out = []
    for away in season.away:
        x1, x2 = x(max(away.start, season.start)), x(min(away.end, season.end) + timedelta(days=1))
        if x2 > x1:
            out.append(rect(x1, _TOP - 14, x2 - x1, low - _TOP + 14, "away"))
            out.append(text((x1 + x2) / 2, _TOP - 3, _("away"), "small", "middle"))
    out += x.months(4, low, 16)
    for week in season_weeks(season):
        at = max(x(week_start(week)), _LEFT)
        out.append(line(at, _TOP - 14, at, low, "grid"))
        if x.step * 7 > 18:
            out.append(text(at + 2, _TOP - 17, str(int(week[-2:])), "tiny"))
    out.append(text(_LEFT - 6, _TOP - 17, _("week"), "tiny", "end"))
    return out
