"""The one list of rules: their names in plain words and what each asks.

Model, verifier and documents name rules by this list and by no other.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Rule:
    """A rule: ``name`` in plain words, ``meaning`` in one line, what ``counted`` checks are."""

    name: str
    meaning: str
    counted: str


KNOWN = Rule("known crop and tier", "crop, column and tier are the garden's", "batches")
WHOLE_TIER = Rule("every hole planted", "a batch plants every hole of its tier", "batches")
ORDER = Rule("order of dates", "sown, then transplanted, then picked, then cleared", "batches")
WORK_DAYS = Rule(
    "work days", "sown, transplanted, picked, cleared on work days of the season only", "dates"
)
PICK_DAYS = Rule("pick days", "picked on the weekdays that are for picking", "picks")
OCCUPANCY = Rule(
    "one crop at a time", "a tier is filled only when cleared and turned around", "neighbours"
)
AVAILABLE = Rule("tier available", "a batch stands only while its tier may be used", "batches")
REST = Rule("rest after disease", "a crop family waits where it fell ill", "batches")
NEVER = Rule("never there", "no crop stands where and when the garden says never", "batches")
FIXED = Rule("fixed batches", "each batch that the garden fixes is in the plan", "fixed batches")
SHARE = Rule("shares of crops", "of what is picked for a wish each crop has its share", "shares")
SAME_KIND = Rule(
    "same kind",
    "no kind is more than three quarters of what is picked for a wish too many weeks running",
    "crops",
)
NURSERY = Rule("nursery cells", "seedlings never need more cells than there are", "days")
ENOUGH_SOWN = Rule("enough cells sown", "enough cells and seeds for a full tier", "batches")
SEEDLING = Rule("seedling age", "transplanted when fit, and not after waiting too long", "batches")
FILLS = Rule("fills a day", "no more vessels filled on a day than the grower can", "days")
PICKS = Rule("picks a day", "no more batches picked from on a day than the grower can", "days")
MINUTES = Rule("minutes a day", "no more minutes of work on a day than the grower has", "days")
LIFT = Rule("lift limit", "no vessel lifted for one below weighs more than the limit", "lifts")
LIGHT = Rule("light", "the tier gives the crop its least daily light", "batches")
BOLTING = Rule("bolting", "picked before the crop bolts", "batches")
RIPE = Rule("ripe when picked", "picked when ready, and within the days it holds", "picks")
DRY = Rule("dry before harvest", "the last pick comes in time before the tier is dry", "batches")
DRY_YEARS = Rule(
    "dry in a dry year",
    "in no more of the weather years than may be lost is a tier dry before the last pick",
    "batches",
)
SURVIVAL = Rule(
    "cold and heat",
    "in no more of the weather years than may be is a batch killed by cold or heat before its last "
    "pick",
    "batches",
)
MOVED = Rule(
    "weight when moved",
    "no vessel weighs more than the lift limit on a day on which its column is moved",
    "moves",
)
SALT = Rule("salt", "salt costs a batch no more than a tenth of its crop", "batches")
CLAIMS = Rule("claims", "figures of the plan's batches are those of a fresh computation", "figures")
VALUES = Rule(
    "unmet and values", "what stays unmet and what each stage reached are as stated", "figures"
)

RULES: tuple[Rule, ...] = (
    KNOWN,
    WHOLE_TIER,
    ORDER,
    WORK_DAYS,
    PICK_DAYS,
    OCCUPANCY,
    AVAILABLE,
    REST,
    NEVER,
    FIXED,
    SHARE,
    SAME_KIND,
    NURSERY,
    ENOUGH_SOWN,
    SEEDLING,
    FILLS,
    PICKS,
    MINUTES,
    LIFT,
    LIGHT,
    BOLTING,
    RIPE,
    DRY,
    DRY_YEARS,
    SURVIVAL,
    MOVED,
    SALT,
    CLAIMS,
    VALUES,
)


def rule(name: str) -> Rule:
    """The rule of a name, or KeyError."""
    return {r.name: r for r in RULES}[name]
