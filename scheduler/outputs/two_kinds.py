"""In how many weeks two kinds of a group or more come to the table, told in a line and as data."""

from __future__ import annotations

import textwrap
from typing import Any

from scheduler.plans.model import Promise, TwoKinds
from scheduler.words.language import _, plural
from scheduler.words.words import group_title


def data(promise: Promise) -> list[dict[str, Any]]:
    """By group: weeks with a wish, and in how many of them there are two kinds, mean of years."""
    return [
        {"group": told.group, "weeks": told.weeks, "with_two": round(_mean(told), 2)}
        for told in promise.two_kinds
    ]


def lines(promise: Promise) -> list[str]:
    """The same in words; nothing where no group has two crops in the garden."""
    groups = [
        plural(
            "{group} in {some} of {n} week",
            "{group} in {some} of {n} weeks",
            told.weeks,
            group=group_title(told.group),
            some=f"{_mean(told):.0f}",
        )
        for told in promise.two_kinds
        if told.weeks
    ]
    if not groups:
        return []
    text = _(
        "Two kinds or more are on the table, on the mean of the years: {groups} (a second kind "
        "counts from a tenth of the week's wish)."
    ).format(groups=", ".join(groups))
    return textwrap.wrap(text, 79, subsequent_indent="  ")


def _mean(told: TwoKinds) -> float:
    return sum(told.by_year) / max(len(told.by_year), 1)
