"""One item of work, as every output tells it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from scheduler.mix import fills as mix

Day = date  # `Work` has a field called date


@dataclass(frozen=True)
class Work:
    """One item of work.

    Attributes
    ----------
    date, kind : when, and one of `KINDS`.
    column, tier : where (for sowing: where the seedlings will go); tier None: the whole column.
    batch, crop : batch id and crop name; empty for work on a whole column.
    plants : transplant, support: plants in the tier; pick: plants picked or cut.
    seeds, cells : sow.
    litres : fill: to fill; level: expected; clear: about what is left to pour away [L].
    depth_cm : the same as depth in the vessel [cm]; act_cm : level: depth below which to act;
        meters : level: EC and pH are to be measured too.
    dip_cm : fill: how deep the plugs' tips stand in it [cm], where the vessel tells; stopped :
        transplant: holes left without a plant.
    weigh : fill: (what, how much, unit) to weigh, in the order of dissolving.
    ec : fill: its strength [mS/cm]; end_ec : at the last pick, where that leaves the crop's band;
        lost : share of the crop that salt costs [0..1]. ph : fill: lowest and highest acidity [-].
    grams : pick: expected mass [g].
    number, count : pick: which pick of how many; level, shelter: counts them.
    lift_kg : fill, clear: heaviest single vessel that must come off above it; move: heaviest that
        is carried [kg]; 0: none.
    tiers : cover: those that need it; move: those that are carried. rain_cm : cover: more rain than
        this asks for it [cm]; place : move: where to; protect: where it can be brought in.
    celsius : protect: when less is forecast; shade: what the solution comes to, ``bears`` what the
        crop bears [degC], ``white`` by how much a white wall is cooler [K]; ``light`` in
        which its tips may burn [mol m-2 d-1].
    until : sow: day of transplanting; shelter: last day under cover; transplant, with weather
        years: last day that its seedlings keep.
    look_from, first, last, in_years : pick, with weather years and still to come: from when to look
        at the crop, from when to when it is mostly picked, in which share of the years [0..1]
        (protect, shade: it comes to that);
        ``date`` is the usual day. `scheduler.lived.spans` has the rule.
    bolts, dries, freezes, overheats : pick: share of those years in which some of its batch is lost
        to that [0..1].
    age : pick: days since transplanting on the usual day; young : share of its full mass [0..1]
        from which it may be picked, where it is planned before it is ripe.
    dry_date : level, transplant: when the tier runs dry, if the weather table shows it; one_in :
        transplant, with weather years: years of which one is dry by then.
    """

    date: date
    kind: str
    column: str
    tier: int | None
    batch: str = ""
    crop: str = ""
    plants: int = 0
    seeds: int = 0
    cells: int = 0
    litres: float | None = None
    depth_cm: float | None = None
    act_cm: float | None = None
    dip_cm: float | None = None
    stopped: int = 0
    meters: bool = False
    ec: float | None = None
    end_ec: float | None = None
    lost: float = 0.0
    ph: tuple[float, float] | None = None
    grams: int = 0
    number: int = 0
    count: int = 0
    lift_kg: float = 0.0
    until: Day | None = None
    dry_date: Day | None = None
    one_in: int | None = None
    look_from: Day | None = None
    first: Day | None = None
    last: Day | None = None
    in_years: float | None = None
    bolts: float | None = None
    dries: float | None = None
    freezes: float | None = None
    overheats: float | None = None
    age: int | None = None
    young: float | None = None
    weigh: tuple[mix.Weighed, ...] = ()
    tiers: tuple[int, ...] = ()
    rain_cm: float | None = None
    place: str = ""
    celsius: float = 0.0
    bears: float = 0.0
    white: float = 0.0
    light: float = 0.0

    @property
    def key(self) -> str:
        """Names this item within its plan; the same item of a re-plan that keeps its batch ids."""
        return "/".join(p for p in (self.kind, self.batch or self.column, str(self.number)) if p)
