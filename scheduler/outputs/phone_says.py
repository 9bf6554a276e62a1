"""The texts that the script of the file for a phone says."""

from __future__ import annotations

from scheduler.words.words import _


def says() -> dict[str, str]:
    """The texts of the script."""
    return {
        "date": _("{day} {month}"),
        "kept": _(
            "This browser keeps what you write, until its data are cleared. Hand the text on all "
            "the same."
        ),
        "refused": _(
            "This browser keeps nothing. What you write lives in this page's address: do not close "
            "it before you have copied the text, or keep the address as a bookmark."
        ),
        "quiet": _("Nothing that a measured level foretells."),
        "nothing": _("Nothing on this day."),
        "levels": _("Levels to read: {tiers}"),
        "empty": _("Nothing yet."),
        "strike": _("Strike out"),
        "due": _("(due)"),
        "back": _("one back"),
        "expect": _("expect {depth}"),
        "act": _("act below {depth}"),
        "too_high": _("That is above the fill, {depth}. Measure again."),
        "written": _("Written down."),
        "number": _("Expected a number of plants, or a mass."),
        "copied": _("Copied."),
        "not_copied": _("Not copied: hold the text and copy it yourself."),
        "mass": _("about {mass}"),
        "mass_head": _("about {mass} a head"),
        "pick_today": _("pick today ({mass})"),
        "pick_on": _("pick on {date} ({mass})"),
        "will_dry": _("{tier} will be dry about {dry}"),
        "may_dry": _("{tier} may be dry before its last pick on {last}"),
        "ripe": _(" and is ripe"),
        "ready": _(", ready {date}"),
        "not_ready": _(", not ready by then"),
        "or_shade": _(", or shade it."),
        "dry": _("{tier} is dry: {then}, or give it up."),
        "close_open": _(
            "{tier} is close: it may be dry before its last pick on {last}. "
            "Measure it every other day."
        ),
        "close": _(
            "{tier} is close: dry about {dry}, last pick {last}. Measure it every other day."
        ),
        "calm_open": _("{tier} has enough until its last pick on {last}."),
        "calm": _("{tier} has enough: dry about {dry}, last pick {last}."),
        "from_on": _("{date} (from {first} on)"),
        "from_to": _("{date} ({first} to {last})"),
        "between": _("{date} (between {first} and {last})"),
        "unfit": _("The level of {date} does not fit: {reasons}."),
        "reason": _("{reason} ({share} %)"),
        "or": _(", or "),
        "again": _("Measure again."),
        "misread": _("misread"),
        "rained": _("rain got in"),
        "leaked": _("it leaks"),
        "right": _("its thirst has changed"),
    }
