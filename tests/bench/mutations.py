"""Every copy of a rule that all share, spoilt one at a time: does a test see it?

By hand, in a copy of the repository beside which nothing else needs to be quiet:

    .venv/bin/python tests/bench/mutations.py            # all; writes mutations.md beside it
    .venv/bin/python tests/bench/mutations.py pricing    # those with this in their name or file
    .venv/bin/python tests/bench/mutations.py again      # those that the table has not as red

A mutation is a file, a text that stands in it once, and the text put in its place. The tests named
for it are green without it, or it says so. "red" is what is wanted.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
TABLE = Path(__file__).with_name("mutations.md")
COPIED = ("crops", "scheduler", "tests", "examples", "pyproject.toml", "DEVELOPERS.md", "README.md")
LONGEST = 900  # seconds that a run of tests may take

# Files of tests, by a short name.
T = {
    "bound": "search/test_stacks_bound.py",
    "pricing": "search/test_stacks_pricing.py",
    "master": "search/test_stacks_master.py",
    "columns": "search/test_stacks_plan.py",
    "by hand": "search/test_by_hand.py",
    "tidy": "search/test_tidy.py",
    "reduced": "model/test_reduced.py",
    "days": "model/test_rules_occupancy_nursery_days.py",
    "access": "model/test_rules_access.py",
    "worth": "model/test_worth.py",
    "hints": "model/test_hints.py",
    "effort": "schedule/test_objective.py",
    "problem": "schedule/test_problem.py",
    "rules": "batches/test_batch_rules.py",
    "access by day": "schedule/test_access_days.py",
    "candidates": "batches/test_candidates.py",
    "salt": "batches/test_salt.py",
    "anchor": "replanning/test_anchor.py",
    "rebalance": "replanning/test_rebalance.py",
    "late": "replanning/test_late.py",
    "shared": "replanning/test_shared_limits.py",
    "verify": "verify/test_verify_rules.py",
    "work": "outputs/test_calendar_work.py",
    "labour told": "outputs/test_labour.py",
    "assemble": "schedule/test_assemble.py",
    "survival": "../crops/test_survival.py",
    "survival in years": "batches/test_survival_years.py",
    "dose": "../crops/test_bolting_dose.py",
    "lived": "lived/test_live.py",
    "foreseen": "search/test_foreseen.py",
    "fixed": "search/test_fixed.py",
    "fixed again": "replanning/test_fixed_again.py",
    "mixed": "search/test_mixed.py",
    "places": "batches/test_places_candidates.py",
    "places read": "garden/test_places_file.py",
    "places told": "outputs/test_places_told.py",
    "spans": "lived/test_spans.py",
    "replay": "risk/test_risk.py",
    "upheaval": "replanning/test_upheaval.py",
    "after a death": "replanning/test_after_a_death.py",
    "lived on": "search/living/test_replay_on.py",
    "falling": "search/living/test_falling_worth.py",
    "moved seedlings": "log/test_moved_seedlings.py",
    "live": "lived/test_live.py",
    "may stand": "test_may_stand.py",
    "climates": "batches/test_climates.py",
    "years made": "years/test_generator.py",
    "windows": "batches/test_windows.py",
    "nursery light": "outputs/test_nursery_light.py",
    "growth": "../crops/test_development.py",
    "growth and water": "../reference/test_growth_water.py",
    "leaf parts": "years/test_leaf_parts.py",
    "foretold": "levels/test_foretold_course.py",
    "same dry day": "levels/test_same_dry_day.py",
    "learned": "../crops/test_solution_learning.py",
}


@dataclass(frozen=True)
class Mutation:
    """What is spoilt, where, how, and which tests should see it."""

    what: str
    file: str
    old: str
    new: str
    tests: tuple[str, ...]


def _m(what: str, file: str, old: str, new: str, *tests: str) -> Mutation:
    return Mutation(what, f"scheduler/{file}", old, new, tests)


MUTATIONS = (
    # Growth and water of one plant.
    Mutation(
        "leaf: a late pick is promised more than the harvest mass",
        "crops/growth.py",
        "share: Array = np.minimum(mass_share(progress), 1.0)",
        "share: Array = mass_share(progress)",
        ("growth",),
    ),
    Mutation(
        "leaf: what is cut again has more leaves than at its first cut",
        "crops/demand.py",
        "curve = np.minimum(curve, 1.0)",
        "pass",
        ("growth and water",),
    ),
    Mutation(
        "leaf: stomata are as open in the cool",
        "crops/transpiration.py",
        "np.clip(mean / WARM, LEAST_OPEN, 1.0)",
        "np.clip(mean / WARM, 1.0, 1.0)",
        ("growth and water",),
    ),
    Mutation(
        "leaf: shade keeps the dryness of the air away",
        "crops/demand.py",
        "np.asarray(air, float) + np.asarray(sun, float) * np.asarray(light, float)",
        "(np.asarray(air, float) + np.asarray(sun, float)) * np.asarray(light, float)",
        ("leaf parts",),
    ),
    _m(
        "leaf: past years have the shares of the garden's days",
        "years/past.py",
        "et0, sun, air = demand.taken(weather)",
        "et0, sun, air = demand.taken(weather[['et0']])",
        "leaf parts",
    ),
    _m(
        "leaf: compiled, a dim tier gets the whole sun",
        "lived/replay.py",
        "lost = sky.air + sky.sun * vessels[t].light",
        "lost = sky.air + sky.sun",
        "leaf parts",
    ),
    # What the grower has settled.
    _m(
        "never: the last pick does not count",
        "verify/will.py",
        "days <= 0,",
        "days <= 1,",
        "verify",
    ),
    _m(
        "same kind: nine tenths",
        "verify/will.py",
        "return 4 * own > 3 * total",
        "return 10 * own > 9 * total",
        "verify",
    ),
    _m(
        "shares: a tenth of a percent more",
        "verify/will.py",
        "1000 * grams - most * total",
        "1000 * grams - (most + 1) * total",
        "verify",
    ),
    _m(
        "fixed: picked on any day",
        "verify/will.py",
        "picks == one.picked_on or stands",
        "True",
        "verify",
    ),
    _m(
        "fixed: no turnaround after it",
        "batches/fixed.py",
        "start >= soonest + max(pause, 1)",
        "start >= soonest + max(pause, 1) - 1",
        "fixed",
    ),
    _m(
        "never: planted on its first day",
        "batches/open_days.py",
        "(starts >= first) & (starts <= last)",
        "(starts > first) & (starts <= last)",
        "fixed",
    ),
    _m(
        "fixed: forgotten by a plan made again",
        "replanning/take_stock.py",
        "until or _is_fixed(resting, item.batch)",
        "until",
        "fixed again",
    ),
    _m("shares: any", "schedule/mixed.py", "if most < SCALE:", "if most < 0:", "mixed"),
    _m(
        "same kind: all of one",
        "schedule/mixed.py",
        "MOST_OF_ONE = 750",
        "MOST_OF_ONE = 1000",
        "mixed",
    ),
    # Places to choose from.
    _m(
        "a change of place need bring nothing",
        "usecases/standing_where.py",
        "(LEAST_GAIN if moved else 0.0)",
        "0.0",
        "may stand",
    ),
    _m(
        "the place that brings least is kept",
        "usecases/standing_where.py",
        "return max(self.made, key=worth).way",
        "return min(self.made, key=worth).way",
        "may stand",
    ),
    _m(
        "a place is chosen though something stands",
        "usecases/standing_where.py",
        "if garden.today is not None:",
        "if False:",
        "may stand",
    ),
    _m(
        "more is looked at than there is time for",
        "usecases/standing_where.py",
        "if len(self.made) >= self.room or",
        "if len(self.made) >= self.room + 1 or",
        "may stand",
    ),
    # Solution, chill, winter.
    _m(
        "a white wall is grey",
        "garden/baths.py",
        "WALLS[vessel.wall]",
        'WALLS["grey"]',
        "survival in years",
    ),
    _m(
        "every tier stands in the sun",
        "garden/baths.py",
        "Bath(tier.light, vessel.fill_l",
        "Bath(1.0, vessel.fill_l",
        "survival in years",
    ),
    _m(
        "every vessel is small",
        "garden/baths.py",
        "Bath(tier.light, vessel.fill_l",
        "Bath(tier.light, 5.0",
        "survival in years",
    ),
    _m(
        "lamps warm the solution",
        "garden/baths.py",
        'sun = np.maximum(frame["dli"].to_numpy(float) - lamp, 0.0)',
        'sun = frame["dli"].to_numpy(float)',
        "survival in years",
    ),
    Mutation(
        "no crop is chilled",
        "crops/survival.py",
        "return heat + np.maximum(",
        "return heat + 0.0 * np.maximum(",
        ("survival",),
    ),
    _m(
        "checked: no crop is chilled",
        "verify/harm.py",
        "sum_ += max(crop.chill_limit",
        "sum_ += 0.0 * max(crop.chill_limit",
        "verify",
    ),
    _m(
        "checked: a hair more heat is borne",
        "verify/harm.py",
        "return sum_ > 25.0 + SLACK",
        "return sum_ > 25.1 + SLACK",
        "verify",
    ),
    _m(
        "lived: chill is told as heat",
        "lived/growing.py",
        "return frozen | chilled, worn & ~chilled",
        "return frozen, worn",
        "live",
    ),
    _m(
        "winters stray no more than summers",
        "years/generator.py",
        "warm *= by_season(garden, spread.winter)",
        "warm *= 1.0",
        "years made",
    ),
    _m(
        "winter is at the same time in the south",
        "years/spread.py",
        "day = day - 365 / 2",
        "day = day - 0",
        "years made",
    ),
    Mutation(
        "what is half of bolting counts for nothing",
        "crops/development.py",
        "PARTLY, LONG_HOURS, WARM_MEAN = 0.25",
        "PARTLY, LONG_HOURS, WARM_MEAN = 0.0",
        ("dose",),
    ),
    _m(
        "frost of three years of ten is told as that of two",
        "shortfall/window_words.py",
        "FROST_TENTHS = (5, 3, 1)",
        "FROST_TENTHS = (5, 2, 1)",
        "windows",
    ),
    _m(
        "two days of warm solution are worth a line",
        "garden/baths.py",
        "HOT_DAYS, LEAST = 3, 0.1",
        "HOT_DAYS, LEAST = 2, 0.1",
        "windows",
    ),
    _m(
        "seedlings stretch in a little less light",
        "outputs/nursery_light.py",
        "STRETCH = 6.0",
        "STRETCH = 5.9",
        "nursery light",
    ),
    # What a year could bring at most.
    _m(
        "foreseen: picked on the day it has bolted",
        "search/foreseen/offers.py",
        "last = min(last, s + int(bolted[0]) - 1)",
        "last = min(last, s + int(bolted[0]))",
        "foreseen",
    ),
    _m(
        "foreseen: picked before it is large enough",
        "search/foreseen/offers.py",
        "first = s + int(young[0])",
        "first = s + int(young[0]) - 8",
        "foreseen",
    ),
    _m(
        "foreseen: nothing is picked past its hold",
        "search/foreseen/offers.py",
        'keeps = int(crop["hold"] + crop["fades"]) - 1',
        'keeps = int(crop["hold"])',
        "foreseen",
    ),
    _m(
        "foreseen: a tier never dries",
        "search/foreseen/offers.py",
        'dry = np.flatnonzero(litres <= tier["floor"] + HAIR)',
        "dry = np.flatnonzero(litres < -1e9)",
        "foreseen",
    ),
    _m(
        "foreseen: what is cold lives",
        "search/foreseen/offers.py",
        'dies = w.weather[y, sky]["tmin"][eves] < bears',
        "dies = np.zeros(len(eves), bool)",
        "foreseen",
    ),
    _m(
        "foreseen: a day between batches is forgotten",
        "search/foreseen/bound.py",
        'int(limits["turnaround"])',
        "0",
        "foreseen",
    ),
    _m(
        "foreseen: one pick a day whatever the limit",
        "search/foreseen/bound.py",
        '(picks[d], limits["most_picks"])',
        '(picks[d], min(limits["most_picks"], 1))',
        "foreseen",
    ),
    _m(
        "foreseen: fills of a day without a limit",
        "search/foreseen/bound.py",
        '(fills[d], limits["most_fills"])',
        "(fills[d], np.inf)",
        "foreseen",
    ),
    _m(
        "foreseen: a cut has grown back a day sooner",
        "search/foreseen/bound.py",
        'grown = day - int(crop["interval"])',
        'grown = day - int(crop["interval"]) + 1',
        "foreseen",
    ),
    _m(
        "foreseen: as much as one week wishes is eaten in all",
        "search/foreseen/bound.py",
        "p.row(eaten[group][week], float(w.wish[group, week]))",
        "p.row(eaten[group][week], float(w.wish[group, week]) / 2)",
        "foreseen",
    ),
    # A season under way, lived on; what it is worth.
    _m(
        "what has failed is picked in the years ahead",
        "lived/growing.py",
        "self._finish(there & it.failed[self.now], DRY)",
        "pass",
        "live",
    ),
    _m(
        "compiled: seedlings in hand hold no cells",
        "lived/replay.py",
        "s.today[0].cells += batch.cells\n    return s",
        "pass\n    return s",
        "lived on",
    ),
    _m(
        "compiled: a batch drinks as expected whatever was measured",
        "lived/replay.py",
        "at.drank = plants * one * batch.factor / 1000",
        "at.drank = plants * one / 1000",
        "lived on",
    ),
    _m(
        "a batch moved by eight days counts little",
        "replanning/by_living.py",
        "SAME_WEEK = 7",
        "SAME_WEEK = 8",
        "upheaval",
    ),
    _m(
        "another crop in the same tier is two changes",
        "replanning/replaced.py",
        "same = old.place == new.place or ",
        "same = ",
        "upheaval",
    ),
    _m(
        "what is planted beside a moved batch is in its place",
        "replanning/by_living.py",
        " and b.id not in day:",
        ":",
        "upheaval",
    ),
    _m(
        "the old plan stays only where it brings more",
        "replanning/best_way.py",
        "ahead.grams(slipping) >= most",
        "ahead.grams(slipping) > most",
        "late",
    ),
    _m(
        "what died of root disease can be cleared at once",
        "replanning/slip.py",
        "dead.get(f.batch.id, f.batch)",
        "f.batch",
        "after a death",
    ),
    _m(
        "all goes on as planned once the dead are cleared",
        "replanning/rebalance.py",
        "        and not died(plan, state)\n",
        "",
        "after a death",
    ),
    _m(
        "a crop comes where its family rests",
        "replanning/slip.py",
        "return None if any(_rests(commitments, b) for b in out) else out",
        "return out",
        "after a death",
    ),
    _m(
        "the second half of a wish counts as much as the first",
        "lived/worth.py",
        "2 * taste.falls * np.minimum(met, full / 2)",
        "taste.falls * met",
        "falling",
    ),
    _m(
        "compiled: a second kind counts as much where there is too little",
        "search/living/kinds.py",
        "return min(max(share, 0.0), 1.0)",
        "return 1.0",
        "falling",
    ),
    _m(
        "compiled: a second kind is worth nothing",
        "search/living/climb.py",
        "out += other * min(others[week], taste.least * wish)",
        "pass",
        "falling",
    ),
    _m(
        "one line of the log stands for two lots of seedlings",
        "log/events.py",
        "self.told_elsewhere.add(found[0].batch.id)",
        "pass",
        "moved seedlings",
    ),
    # Whole columns: rows, prices, bound, pricing, use.
    _m(
        "the columns' bound leaves out how many there are on a day",
        "search/columns/prices.py",
        "total += float(price @ r.limits(len(price)))",
        "total += float(price.sum())",
        "bound",
    ),
    _m(
        "a fill costs nothing at the prices",
        "search/columns/prices.py",
        "out -= r.per_fill * to_pay[layout.start]",
        "pass",
        "bound",
    ),
    _m(
        "a lift costs nothing at the prices",
        "search/columns/prices.py",
        "r.per_lift * price for",
        "0 * price for",
        "bound",
        "master",
    ),
    _m(
        "a clearing costs nothing at the prices",
        "search/columns/prices.py",
        "r.per_clearing * price for",
        "0 * price for",
        "bound",
        "master",
    ),
    _m(
        "a tier that waits too heavy is ignored in pricing",
        "search/columns/pricing.py",
        "ok &= ~waits | (before",
        "ok |= ~waits | (before",
        "pricing",
    ),
    _m(
        "a tier that waits too heavy does not stand in the way in pricing",
        "search/columns/pricing.py",
        "        np.add.at(heavy[j], (which[waits], layout.last[rows[waits]]), 1)\n"
        "        np.add.at(heavy[j], (which[waits], clear[waits]), -1)\n",
        "",
        "pricing",
    ),
    _m(
        "what is used on its day is not counted in the columns' use",
        "search/columns/search.py",
        "level[:-1] = r.level(r.uses_of(rows), layout.slots)",
        "level[:-1] = r.level(r.uses_of(rows), layout.slots) * int(r.held)",
        "master",
        "columns",
    ),
    _m(
        "fills are not counted in the columns' use",
        "search/columns/search.py",
        "np.add.at(level, layout.start[rows], r.filling(lifted))",
        "pass",
        "master",
        "columns",
    ),
    _m(
        "clearings are not counted in the columns' use",
        "search/columns/search.py",
        "np.add.at(level, clear, r.clearing(lifted))",
        "pass",
        "master",
        "columns",
    ),
    _m(
        "one too many where columns are given sequences",
        "search/columns/search.py",
        "if (used + use > self.use.most).any():",
        "if (used + use > self.use.most + 1).any():",
        "master",
        "columns",
    ),
    _m(
        "one too few where columns are given sequences",
        "search/columns/search.py",
        "if (used + use > self.use.most).any():",
        "if (used + use >= self.use.most + (self.use.most == 0)).any():",
        "master",
        "columns",
    ),
    _m(
        "the program of whole columns has one too many a day",
        "search/columns/master.py",
        "np.zeros(layout.slots) if r.held else r.limits(layout.slots)",
        "np.zeros(layout.slots) if r.held else r.limits(layout.slots) + 1",
        "bound",
        "master",
    ),
    _m(
        "the program of whole columns holds one too many",
        "search/columns/master.py",
        "self._add(0.0, float(r.limit),",
        "self._add(0.0, float(r.limit + 1),",
        "bound",
        "master",
    ),
    _m(
        "pricing: a use must leave room",
        "search/columns/pricing.py",
        "on_day: np.ndarray = left[which, r.first[uses]] >= r.amount[uses]",
        "on_day: np.ndarray = left[which, r.first[uses]] > r.amount[uses]",
        "pricing",
    ),
    _m(
        "pricing: a use takes one more than there is",
        "search/columns/pricing.py",
        "on_day: np.ndarray = left[which, r.first[uses]] >= r.amount[uses]",
        "on_day: np.ndarray = left[which, r.first[uses]] + 1 >= r.amount[uses]",
        "pricing",
    ),
    _m(
        "pricing: what is held must leave room",
        "search/columns/pricing.py",
        "np.cumsum(left < amount, axis=1",
        "np.cumsum(left <= amount, axis=1",
        "pricing",
    ),
    _m(
        "pricing: what is held takes one more than there is",
        "search/columns/pricing.py",
        "np.cumsum(left < amount, axis=1",
        "np.cumsum(left < amount - 1, axis=1",
        "pricing",
    ),
    _m(
        "pricing: a fill must leave room",
        "search/columns/pricing.py",
        "ok &= left[which, layout.start[rows]] >= r.filling(above)",
        "ok &= left[which, layout.start[rows]] > r.filling(above)",
        "pricing",
    ),
    _m(
        "pricing: a fill takes one more than there is",
        "search/columns/pricing.py",
        "ok &= left[which, layout.start[rows]] >= r.filling(above)",
        "ok &= left[which, layout.start[rows]] + 1 >= r.filling(above)",
        "pricing",
    ),
    _m(
        "pricing: a clearing must leave room",
        "search/columns/pricing.py",
        "ok &= left[which, clear] - own.sum(axis=1) >= r.clearing(above)",
        "ok &= left[which, clear] - own.sum(axis=1) > r.clearing(above)",
        "pricing",
    ),
    _m(
        "pricing: a clearing takes one second more than there is",
        "search/columns/pricing.py",
        "ok &= left[which, clear] - own.sum(axis=1) >= r.clearing(above)",
        "ok &= left[which, clear] - own.sum(axis=1) + 1 >= r.clearing(above)",
        "pricing",
    ),
    # The model, the check, rules of thumb, tidying.
    _m(
        "model: one too many on a day",
        "model/rules/shared.py",
        "<= int(left[w]))\n\n\ndef _services",
        "<= int(left[w]) + 1)\n\n\ndef _services",
        "days",
    ),
    _m(
        "model: one too few on a day",
        "model/rules/shared.py",
        "<= int(left[w]))\n\n\ndef _services",
        "<= int(left[w]) - 1)\n\n\ndef _services",
        "days",
    ),
    _m(
        "model: one too many held",
        "model/rules/shared.py",
        "max(int(left[w]), already, 0)",
        "max(int(left[w]) + 1, already, 0)",
        "days",
    ),
    _m(
        "model: one too few held",
        "model/rules/shared.py",
        "max(int(left[w]), already, 0)",
        "max(int(left[w]) - 1, already, 0)",
        "days",
    ),
    _m(
        "model: clearings take nothing",
        "model/rules/shared.py",
        "if v.access and resource.clears:",
        "if False:",
        "days",
    ),
    _m(
        "check: one too many",
        "schedule/check.py",
        "(now > np.maximum(left, 0))",
        "(now > np.maximum(left, 0) + 1)",
        "worth",
        "shared",
    ),
    _m(
        "check: one too few",
        "schedule/check.py",
        "(now > np.maximum(left, 0))",
        "(now >= np.maximum(left, 0))",
        "worth",
        "shared",
    ),
    _m(
        "rules of thumb: a use must leave room",
        "search/by_hand.py",
        "(least >= self.amount)",
        "(least > self.amount)",
        "by hand",
    ),
    _m(
        "rules of thumb: one too many",
        "search/by_hand.py",
        "(least >= self.amount)",
        "(least + 1 >= self.amount)",
        "by hand",
    ),
    _m(
        "rules of thumb: a fill must leave room",
        "search/by_hand.py",
        "left[self.slot] >= what(r, above)",
        "left[self.slot] > what(r, above)",
        "by hand",
    ),
    _m(
        "rules of thumb: one fill too many",
        "search/by_hand.py",
        "left[self.slot] >= what(r, above)",
        "left[self.slot] + 1 >= what(r, above)",
        "by hand",
    ),
    _m(
        "tidying: a clearing must leave room",
        "search/tidy.py",
        "<= resource.on(w)",
        "< resource.on(w)",
        "tidy",
    ),
    _m(
        "tidying: a clearing takes one second more than there is",
        "search/tidy.py",
        "<= resource.on(w)",
        "<= resource.on(w) + 1",
        "tidy",
    ),
    _m(
        "tidying: a day that is moved to must leave room",
        "search/lifting.py",
        "used[w] > r.on(w)",
        "used[w] >= r.on(w)",
        "tidy",
    ),
    _m(
        "tidying: one too many on a day that is moved to",
        "search/lifting.py",
        "used[w] > r.on(w)",
        "used[w] > r.on(w) + 1",
        "tidy",
    ),
    _m(
        "thinning: a batch that stays longer stands in for another",
        "model/reduced.py",
        "(free[mine] <= free[x])",
        "(free[mine] >= free[x])",
        "reduced",
    ),
    _m(
        "thinning: a batch that begins sooner stands in for another",
        "model/reduced.py",
        "(start[mine] >= start[x])",
        "(start[mine] <= start[x])",
        "reduced",
    ),
    # Re-planning.
    _m(
        "re-plan: a pick must leave room",
        "replanning/baseline.py",
        "(left[r.first[uses]] >= r.amount[uses])",
        "(left[r.first[uses]] > r.amount[uses])",
        "shared",
    ),
    _m(
        "re-plan: one pick too many",
        "replanning/baseline.py",
        "(left[r.first[uses]] >= r.amount[uses])",
        "(left[r.first[uses]] + 1 >= r.amount[uses])",
        "shared",
    ),
    _m(
        "re-plan: a fill must leave room",
        "replanning/baseline.py",
        "left[self._slot(day)] < what(r, above(place[1]))",
        "left[self._slot(day)] <= what(r, above(place[1]))",
        "shared",
    ),
    _m(
        "re-plan: one fill too many",
        "replanning/baseline.py",
        "left[self._slot(day)] < what(r, above(place[1]))",
        "left[self._slot(day)] + 1 < what(r, above(place[1]))",
        "shared",
    ),
    _m(
        "re-plan: cells must leave room",
        "replanning/baseline.py",
        "short = self.room[days] < self.cells[option.row]",
        "short = self.room[days] <= self.cells[option.row]",
        "shared",
    ),
    _m(
        "re-plan: one cell too many",
        "replanning/baseline.py",
        "short = self.room[days] < self.cells[option.row]",
        "short = self.room[days] + 1 < self.cells[option.row]",
        "shared",
    ),
    _m(
        "re-plan: too heavy a day short",
        "replanning/ways_on.py",
        "int(np.flatnonzero(heavy)[-1]) + 1",
        "int(np.flatnonzero(heavy)[-1])",
        "rebalance",
        "late",
        "shared",
    ),
    _m(
        "re-plan: not too heavy while it waits",
        "replanning/ways_on.py",
        "heavy_after = int(mass[min(h, len(mass) - 1)] > limits.lift_kg + 1e-9)",
        "heavy_after = 0",
        "rebalance",
        "late",
        "shared",
    ),
    # Too heavy to lift, said once.
    _m(
        "too heavy on the day of its own filling",
        "schedule/access.py",
        "if not start < day < clear:",
        "if not start <= day < clear:",
        "by hand",
        "tidy",
        "rebalance",
        "access by day",
    ),
    _m(
        "light a day too soon, by day",
        "schedule/access.py",
        "return day < min(light_from, last)",
        "return day + 1 < min(light_from, last)",
        "by hand",
        "tidy",
        "rebalance",
    ),
    _m(
        "light while it waits, by day",
        "schedule/access.py",
        "(day >= last and heavy_after)",
        "(day > last and heavy_after)",
        "by hand",
        "tidy",
        "rebalance",
        "access by day",
    ),
    _m(
        "heavy from its own filling on, by slot",
        "schedule/access.py",
        'problem.slot(problem.column("transplant") + 1)',
        'problem.slot(problem.column("transplant"))',
        "access",
    ),
    _m(
        "light a day too soon, by slot",
        "schedule/access.py",
        'np.minimum(problem.column("heavy_until"), last)',
        'np.minimum(problem.column("heavy_until") - 1, last)',
        "access",
    ),
    _m(
        "an empty vessel as heavy as the limit cannot be lifted",
        "schedule/access.py",
        ".mass_kg > limit",
        ".mass_kg >= limit",
        "access",
        "by hand",
    ),
    # What readings teach of a tier's thirst.
    _m(
        "readings: a re-plan does not draw a tier to what is usual",
        "replanning/measured.py",
        "Estimate(course_from(drinks, course.progress))",
        "Estimate(course_from(drinks, course.progress), 10.0)",
        "foretold",
        "same dry day",
        "anchor",
    ),
    _m(
        "readings: a review draws a tier to what is usual",
        "review/thirst.py",
        "course_from(drinks, course.progress), NOT_DRAWN",
        "course_from(drinks, course.progress)",
        "foretold",
    ),
    _m(
        "readings: thirst has no slope",
        "levels/batch.py",
        "(drinks * leaf).tolist()",
        "(drinks * 0).tolist()",
        "foretold",
        "anchor",
    ),
    _m(
        "readings: the days of a year do not stray",
        "levels/batch.py",
        "OF_A_DAY = 0.41",
        "OF_A_DAY = 0.05",
        "anchor",
    ),
    _m(
        "readings: the interval is too narrow",
        "replanning/measured.py",
        "factor + NINETY * sd",
        "factor + 0.3 * NINETY * sd",
        "foretold",
    ),
    _m(
        "readings: a tier in shade drinks as in the sun",
        "replanning/measured.py",
        "*= IN_SHADE",
        "*= 1.0",
        "anchor",
    ),
    Mutation(
        "readings: a crop of which little is known counts in full",
        "crops/learning.py",
        "w = own / (own + np.asarray(doubts, float) ** 2) if len(doubts) else np.ones(n)",
        "w = np.ones(n)",
        ("learned",),
    ),
    # Rules about one batch, said once.
    _m(
        "good on the day it bolts",
        "batches/rules.py",
        "return picks.last < g.bolted, g.bolted",
        "return picks.last <= g.bolted, g.bolted",
        "anchor",
        "rules",
    ),
    _m(
        "good on the day it bolts, as candidates see it",
        "batches/rules.py",
        "return picks.last < g.bolted, g.bolted",
        "return picks.last <= g.bolted, g.bolted",
        "candidates",
        "rules",
    ),
    _m(
        "a day less in hand before it is dry",
        "batches/rules.py",
        "return g.dry - g.margin >= picks.last, g.dry",
        "return g.dry - g.margin + 1 >= picks.last, g.dry",
        "candidates",
    ),
    _m(
        "a day less in hand before it is dry, as an outlook sees it",
        "batches/rules.py",
        "return g.dry - g.margin >= picks.last, g.dry",
        "return g.dry - g.margin + 1 >= picks.last, g.dry",
        "anchor",
    ),
    _m(
        "a day more of hold",
        "batches/rules.py",
        "return first, first + int(g.crop.hold)",
        "return first, first + int(g.crop.hold) + 1",
        "anchor",
        "rebalance",
        "rules",
    ),
    _m(
        "light enough is not enough",
        "batches/rules.py",
        "return mean >= g.crop.dli_min, mean",
        "return mean > g.crop.dli_min, mean",
        "candidates",
        "rules",
    ),
    _m(
        "salt costs nothing",
        "batches/rules.py",
        "return lost <= strength.MOST_LOST, lost",
        "return lost <= 1.0, lost",
        "salt",
    ),
    # Effort and sharing, said once.
    _m(
        "a lift is counted once a batch",
        "schedule/effort.py",
        "def lifts(above: Any, services: Any = 2)",
        "def lifts(above: Any, services: Any = 1)",
        "bound",
        "effort",
    ),
    _m(
        "its own vessel is lifted too",
        "schedule/effort.py",
        "return tier - 1",
        "return tier",
        "assemble",
    ),
    _m(
        "what keeps longest goes first",
        "schedule/produce.py",
        "key=lambda lot: (lot[0], lot[1])",
        "key=lambda lot: (-lot[0], lot[1])",
        "assemble",
    ),
    # The rule of labour, wherever it is said.
    _m(
        "labour: sowing takes no time",
        "schedule/resources.py",
        '_seconds(labour.sow * problem.column("cells")[fresh])',
        '_seconds(0 * problem.column("cells")[fresh])',
        "days",
        "master",
    ),
    _m(
        "labour: picking takes no time",
        "schedule/resources.py",
        "_seconds(labour.pick * problem",
        "_seconds(0 * problem",
        "days",
    ),
    _m(
        "labour: filling takes no time",
        "schedule/resources.py",
        "for t in (labour.fill, labour.clear, labour.lift)",
        "for t in (0, labour.clear, labour.lift)",
        "days",
        "master",
    ),
    _m(
        "labour: clearing takes no time",
        "schedule/resources.py",
        "for t in (labour.fill, labour.clear, labour.lift)",
        "for t in (labour.fill, 0, labour.lift)",
        "days",
    ),
    _m(
        "labour: lifting takes no time",
        "schedule/resources.py",
        "for t in (labour.fill, labour.clear, labour.lift)",
        "for t in (labour.fill, labour.clear, 0)",
        "days",
    ),
    _m(
        "labour: a minute more a day",
        "schedule/resources.py",
        "math.floor(60 * (limits.minutes_on(k) or 0.0) + 1e-6)",
        "math.floor(60 * (limits.minutes_on(k) or 0.0) + 60)",
        "days",
    ),
    _m(
        "labour, checked: lifting takes no time",
        "verify/shared_rules.py",
        "labour.lift * (s.batch.tier - 1)",
        "0 * (s.batch.tier - 1)",
        "verify",
    ),
    _m(
        "labour, checked: sowing takes no time",
        "verify/shared_rules.py",
        '"sow", labour.sow * b.cells',
        '"sow", 0 * b.cells',
        "verify",
    ),
    _m(
        "labour, checked: picking takes no time",
        "verify/shared_rules.py",
        '"pick", labour.pick * p.plants',
        '"pick", 0 * p.plants',
        "verify",
    ),
    _m(
        "labour, checked: clearing takes no time",
        "verify/shared_rules.py",
        '"clear", labour.clear + lifts',
        '"clear", lifts',
        "verify",
    ),
    _m(
        "labour, checked: filling takes no time",
        "verify/shared_rules.py",
        '"transplant", labour.fill + lifts',
        '"transplant", lifts',
        "verify",
    ),
    _m(
        "labour, checked: a full day is too full",
        "verify/shared_rules.py",
        "spent <= most + TINY",
        "spent < most",
        "verify",
    ),
    _m(
        "labour, told: lifting takes no time",
        "outputs/labour.py",
        "labour.lift * ((item.tier or 1) - 1)",
        "0 * ((item.tier or 1) - 1)",
        "work",
        "labour told",
    ),
    # The check of plans: the other shared limits.
    _m(
        "checked: one too many a day",
        "verify/shared_rules.py",
        "if len(who) <= most:",
        "if len(who) <= most + 1:",
        "verify",
    ),
    _m(
        "checked: a full day is too full",
        "verify/shared_rules.py",
        "if len(who) <= most:",
        "if len(who) < most:",
        "verify",
    ),
    _m(
        "checked: one cell too many",
        "verify/shared_rules.py",
        "if used[day] <= room:",
        "if used[day] <= room + 1:",
        "verify",
    ),
    _m(
        "checked: a full nursery is too full",
        "verify/shared_rules.py",
        "if used[day] <= room:",
        "if used[day] < room:",
        "verify",
    ),
    # Cold, heat and bolting, said in crops, checked and lived.
    _m(
        "good on the day it is dead",
        "batches/rules.py",
        "return picks.last < killed, killed",
        "return picks.last <= killed, killed",
        "rules",
    ),
    Mutation(
        "a week of hardening has six nights",
        "crops/survival.py",
        "NIGHTS = 7 ",
        "NIGHTS = 6 ",
        ("survival",),
    ),
    Mutation(
        "nights of the nursery harden",
        "crops/survival.py",
        "sums[:, np.minimum(first, days - 1)]",
        "sums[:, np.maximum(at - NIGHTS, 0)]",
        ("survival",),
    ),
    Mutation(
        "nights of 3 degC harden in full",
        "crops/survival.py",
        "FULL_HARDENING = 8.0, 2.0",
        "FULL_HARDENING = 8.0, 3.0",
        ("survival",),
    ),
    Mutation(
        "a hair more heat is borne",
        "crops/survival.py",
        "DOSE = 25.0",
        "DOSE = 25.2",
        ("survival in years",),
    ),
    Mutation(
        "heat of thirteen days counts together",
        "crops/survival.py",
        "FORTNIGHT = 14",
        "FORTNIGHT = 13",
        ("survival in years",),
    ),
    Mutation(
        "six years of ten may kill what is planned by living",
        "scheduler/years/expected.py",
        "MAY_KILL = 0.5",
        "MAY_KILL = 0.6",
        ("survival in years",),
    ),
    Mutation(
        "one year of five may kill",
        "crops/years.py",
        "LOST, KILLED = 0.2, 0.1",
        "LOST, KILLED = 0.2, 0.2",
        ("survival in years",),
    ),
    _m(
        "checked: one death more",
        "verify/batch_rules.py",
        "dead <= may,",
        "dead <= may + 1,",
        "verify",
    ),
    _m(
        "checked: nights of the nursery harden",
        "verify/course.py",
        "for night in range(max(start, day - 7), day)",
        "for night in range(max(0, day - 7), day)",
        "survival in years",
    ),
    _m(
        "checked: heat of thirteen days counts together",
        "verify/course.py",
        "for hot in range(max(start, day - 13), day + 1)",
        "for hot in range(max(start, day - 12), day + 1)",
        "verify",
    ),
    _m(
        "lived: cold kills nothing",
        "lived/growing.py",
        "(frozen, FROZEN),",
        "(frozen & False, FROZEN),",
        "lived",
    ),
    _m(
        "lived: heat of thirteen days counts together",
        "lived/growing.py",
        "max(d - survival.FORTNIGHT, 0)",
        "max(d - survival.FORTNIGHT + 1, 0)",
        "lived",
    ),
    _m(
        "lived once more: heat of thirteen days counts together",
        "verify/lived.py",
        "range(max(s.since, eve - 13), d)",
        "range(max(s.since, eve - 12), d)",
        "spans",
    ),
    _m(
        "to the day: what stands today may have been dead",
        "risk/courses.py",
        "(dead > y.days) | (dead <= today)",
        "dead > y.days",
        "replay",
    ),
    Mutation(
        "a long day counts whatever its warmth",
        "crops/development.py",
        "long = reached * np.clip(warm, 0.0, 1.0)",
        "long = reached",
        ("dose",),
    ),
    Mutation(
        "a cold day of twelve hours counts",
        "crops/development.py",
        "daylength > COLD_HOURS",
        "daylength >= COLD_HOURS",
        ("dose",),
    ),
    Mutation(
        "slow kinds bolt as quick ones do",
        "crops/crop.py",
        "return self.bolt_days_slow if self.slow_to_bolt else self.bolt_days",
        "return self.bolt_days",
        ("dose",),
    ),
    _m(
        "lived once more: a long day counts whatever its warmth",
        "verify/year.py",
        "long = way * min(max(warm, 0.0), 1.0)",
        "long = way",
        "spans",
    ),
    # Places: moves, and the weather of each place.
    _m(
        "what is too heavy to be moved is offered",
        "batches/candidates.py",
        "good &= carried",
        "pass",
        "places",
    ),
    _m(
        "a vessel is carried on the day on which it is filled",
        "batches/rules.py",
        "out = np.where(after > 0,",
        "out = np.where(after >= 0,",
        "places",
    ),
    _m(
        "checked: on its clearing day a vessel is carried before it is cleared",
        "verify/moving.py",
        "day >= s.batch.clear",
        "day > s.batch.clear",
        "verify",
    ),
    _m(
        "checked: a vessel is carried on the day on which it is filled",
        "verify/moving.py",
        "if k == 0 or",
        "if",
        "verify",
    ),
    _m(
        "a place ends a day early",
        "garden/placed.py",
        "end = min(max((stay.end - first).days + 1, begin), n)",
        "end = min(max((stay.end - first).days, begin), n)",
        "places",
        "places read",
    ),
    _m(
        "lived: a move takes no minutes",
        "lived/growing.py",
        "out[season.index(day)] -= spent",
        "pass",
        "places",
    ),
    _m(
        "a move takes no minutes",
        "schedule/resources.py",
        "most[slot_] = max(most[slot_] - spent, 0)",
        "pass",
        "places",
    ),
    _m(
        "a vessel with a lid that keeps rain out is covered",
        "outputs/covers.py",
        "gap is not None and vessel.rain",
        "gap is not None",
        "places told",
    ),
)


def copied(place: Path) -> None:
    """Copy what tests need."""
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            skipped = shutil.ignore_patterns("__pycache__")
            shutil.copytree(source, place / name, ignore=skipped)
        else:
            shutil.copy(source, place / name)


def green(place: Path, tests: tuple[str, ...]) -> bool:
    """Whether the named files of tests pass, the slow ones too."""
    files = [f"tests/scheduler/{T[name]}" for name in tests]
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-x",
        "-q",
        "-n0",
        "--slow",
        "-p",
        "no:cacheprovider",
    ]
    done = subprocess.run(
        [*command, *files], cwd=place, capture_output=True, text=True, timeout=LONGEST
    )
    if done.returncode not in (0, 1):
        raise RuntimeError(done.stdout[-2000:] + done.stderr[-2000:])
    return done.returncode == 0


def tried(place: Path, mutations: list[Mutation]) -> Iterator[tuple[Mutation, str, float]]:
    """Each mutation, what came of it, and the seconds it took."""
    sound: dict[str, bool] = {}
    for m in mutations:
        for name in m.tests:
            if name not in sound:
                sound[name] = green(place, (name,))
        file = place / m.file
        text = file.read_text("utf-8")
        if text.count(m.old) != 1:
            yield m, f"stands there {text.count(m.old)} times", 0.0
            continue
        began = time.monotonic()
        file.write_text(text.replace(m.old, m.new), "utf-8")
        try:
            seen = "SURVIVES" if green(place, m.tests) else "red"
        except subprocess.TimeoutExpired:
            seen = "red (never ends)"
        finally:
            file.write_text(text, "utf-8")
        broken = [name for name in m.tests if not sound[name]]
        yield m, f"unknown: {broken} red without it" if broken else seen, time.monotonic() - began


def main(words: list[str]) -> int:
    """Try those that hold one of the words, or all, and then write the table."""
    known = _known()
    if words == ["again"]:
        mine = [m for m in MUTATIONS if not known.get(m.what, "").startswith("red")]
    else:
        mine = [m for m in MUTATIONS if not words or any(w in m.what or w in m.file for w in words)]
    bad = 0
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        copied(place)
        for m, outcome, seconds in tried(place, mine):
            bad += not outcome.startswith("red")
            print(f"{outcome:10} {seconds:5.0f} s  {m.what}", flush=True)
            known[m.what] = outcome
    lines = [
        "# Mutations",
        "",
        "Written by `mutations.py`: every copy of a rule that all share, spoilt one at a time.",
        "",
        "| spoilt | in | tests | came out |",
        "|---|---|---|---|",
    ]
    for m in MUTATIONS:
        where = m.file.removeprefix("scheduler/")
        tests = ", ".join(Path(T[t]).stem for t in m.tests)
        lines.append(f"| {m.what} | `{where}` | {tests} | {known.get(m.what, 'not tried')} |")
    TABLE.write_text("\n".join(lines) + "\n", "utf-8")
    return 1 if bad else 0


def _known() -> dict[str, str]:
    """What the table says of each."""
    if not TABLE.exists():
        return {}
    rows = [line.split(" | ") for line in TABLE.read_text("utf-8").splitlines()]
    return {r[0].removeprefix("| "): r[-1].removesuffix(" |") for r in rows if len(r) == 4}


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
