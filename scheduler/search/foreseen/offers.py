"""What one year of a `World` lets grow: each batch that could be lived in it, and its best picks.

All that the living of a year (`lived.replay`) forbids is forbidden here only where it surely is, so
that whatever is lived is among this. Allowed are picks of any number of heads on any day for it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from crops import development, survival
from crops.growth import KNOTS
from scheduler.lived.growing import READY
from scheduler.lived.laid import FAR
from scheduler.lived.world import LEAVES, World

HAIR = 1e-9


@dataclass(frozen=True)
class Kind:
    """Tiers in which everything goes alike: which one stands for them, and how many there are."""

    tier: int
    plants: int
    count: int


@dataclass(frozen=True)
class Offer:
    """A batch that one year allows.

    Attributes
    ----------
    kind, crop : by number; start : day of transplanting; sow : the last day of sowing for it.
    days : on which something can be picked; share : of the crop's mass that a plant has on each.
    """

    kind: int
    crop: int
    start: int
    sow: int
    days: np.ndarray
    share: np.ndarray


def kinds_of(w: World, plants: np.ndarray) -> list[Kind]:
    """Tiers with the same light, vessel, places, plants and open days, put together.

    ``plants`` : places for plants of each tier.
    """
    found: dict[tuple[object, ...], list[int]] = {}
    for t, tier in enumerate(w.tiers):
        vessel = (tier["fill"], tier["floor"], tier["light"], tier["sky"], tier["bath"])
        like = (*vessel, int(plants[t]), w.key[:, t].tobytes(), w.open[t].tobytes())
        found.setdefault(like, []).append(t)
    return [Kind(same[0], int(plants[same[0]]), len(same)) for same in found.values()]


def offers(w: World, y: int, kinds: list[Kind]) -> list[Offer]:
    """Every batch that year ``y`` allows and that could bring something to the table."""
    out = []
    work, pick = w.days["work"], w.days["pick"]
    n = len(w.days)
    for c in range(len(w.crops)):
        if w.crops["group"][c] < 0:
            continue
        sow = _last_sowing(w, c, y)
        eaten = pick & (w.last_week[c] >= 0)
        for k, kind in enumerate(kinds):
            may = work & w.open[kind.tier] & (sow >= 0)
            for s in np.flatnonzero(may).tolist():
                grown = (
                    w.growth[w.key[c, kind.tier], y, s : n + 1]
                    - w.growth[w.key[c, kind.tier], y, s]
                )
                first, last = _span(w, c, y, kind, s, grown)
                days = np.flatnonzero(eaten[first : last + 1]) + first
                if len(days):
                    share = development.harvest_share(grown[days - s])
                    share = np.where(grown[days - s] >= READY, 1.0, share)
                    if w.crops["cuts"][c] == 1:
                        share = share * _still_good(w.crops[c], s, grown, days)
                    out.append(Offer(k, c, s, int(sow[s]), days, share))
    return out


def _still_good(crop: np.void, s: int, grown: np.ndarray, days: np.ndarray) -> np.ndarray:
    """Share of heads planted on ``s`` that is still good on days past their hold [0..1; days].

    Of a crop cut again, whose hold begins anew with each cut, all is taken for good.
    """
    ripe = np.flatnonzero(grown >= READY)
    if not len(ripe):
        return np.ones(len(days))
    late = np.maximum(days - (s + int(ripe[0]) + crop["hold"]), 0.0)
    return np.asarray(1.0 - late / crop["fades"])


def _last_sowing(w: World, c: int, y: int) -> np.ndarray:
    """The last day on which seedlings can be sown that are fit on each day; -1: none [days]."""
    n = len(w.days)
    out = np.full(n, -1)
    for day in np.flatnonzero(w.days["work"]).tolist():
        fit = int(w.fit[c, y, day])
        if fit < FAR:
            out[fit : min(fit + int(w.crops["wait"][c]), n - 1) + 1] = day
    return out


def _span(w: World, c: int, y: int, kind: Kind, s: int, grown: np.ndarray) -> tuple[int, int]:
    """First and last day on which a batch transplanted on ``s`` can be picked; first > last: none.

    ``grown`` : progress on each morning from ``s`` on.
    """
    crop, n = w.crops[c], len(w.days)
    least = development.progress_at(float(w.limits["least"][0])) if w.limits["least"][0] < 1 else 1
    young = np.flatnonzero(grown >= min(least, READY) - HAIR)
    if not len(young):
        return n, -1
    first = s + int(young[0])
    ripe = np.flatnonzero(grown >= READY)
    last = n - 1
    if len(ripe):
        keeps = int(crop["hold"] + crop["fades"]) - 1  # on the day after it is lost
        later = (int(crop["cuts"]) - 1) * (int(crop["interval"]) + keeps)
        last = min(last, s + int(ripe[0]) + keeps + later)
    sky = w.tiers[kind.tier]["sky"]
    bolting = w.bolting[sky, c, y, s:n] - w.bolting[sky, c, y, s]
    bolted = np.flatnonzero(bolting > crop["bolt_days"])
    if len(bolted):
        last = min(last, s + int(bolted[0]) - 1)
    return first, min(last, _dry(w, c, y, kind, s, grown, first), _dead(w, c, y, kind.tier, s) - 1)


def _dry(w: World, c: int, y: int, kind: Kind, s: int, grown: np.ndarray, first: int) -> int:
    """The first morning on which it is surely dry: from ``first`` on as few drink as may stand."""
    crop, tier, n = w.crops[c], w.tiers[kind.tier], len(w.days)
    curve = np.interp(grown[:-1], KNOTS, [float(crop[name]) for name in LEAVES])
    air = w.weather[y, tier["sky"], s:n]
    lost = air["air"] + air["sun"] * tier["light"]
    one = crop["per_mm"] * curve * w.thirst[c, y] * lost
    few = kind.plants * crop["after_cut"] if crop["cuts"] > 1 else 1.0
    plants = np.where(np.arange(s, n) < first, float(kind.plants), min(few, kind.plants))
    litres = tier["fill"] - np.cumsum(plants * one) / 1000
    dry = np.flatnonzero(litres <= tier["floor"] + HAIR)
    return s + 1 + int(dry[0]) if len(dry) else n


def _dead(w: World, c: int, y: int, tier: int, s: int) -> int:
    """First morning on which cold or heat has killed it; the day after the last: it lives."""
    crop, n, sky = w.crops[c], len(w.days), w.tiers[tier]["sky"]
    eves = np.arange(s, n - 1)
    since = np.maximum(s, eves - survival.NIGHTS)
    hard = w.weather[y, sky]["hardening"]
    hard = (hard[eves] - hard[since]) / survival.NIGHTS
    bears = crop["kills"] + hard * (crop["kills_hardened"] - crop["kills"])
    dies = w.weather[y, sky]["tmin"][eves] < bears
    since = np.maximum(s, eves + 1 - survival.FORTNIGHT)
    harm = w.harm[w.harm_of[w.tiers[tier]["bath"], c], y]
    dies |= harm[eves + 1] - harm[since] > survival.DOSE + HAIR
    found = np.flatnonzero(dies)
    return int(eves[found[0]]) + 1 if len(found) else n
