"""What the program knows of one crop, in plain numbers of declared units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Parameter:
    """One number of the catalogue as it was written: text with unit, and where it comes from."""

    text: str
    source: str


@dataclass(frozen=True)
class Kind:
    """Cultivars of a crop that differ from it: numbers by field of `Crop`, and as written."""

    values: Mapping[str, Any]
    written: Mapping[str, Parameter]


@dataclass(frozen=True)
class Crop:
    """A crop. "Plant" means what stands in one hole: one head, or one plug of several seedlings.

    Attributes
    ----------
    name, title : key (``pak_choi``) and printed name (``pak choi``).
    group : produce group it counts for unless the garden says otherwise: lettuce, greens or herbs.
    family : botanical family, the key of the rest after disease.
    emergence : (temperature [degC], days from sowing to emergence [d]) pairs, temperature rising.
    nursery_days : sowing to transplanting [d] at ``nursery_temperature`` [degC].
    nursery_wait : days a seedling may wait for its tier beyond that [d].
    days_to_harvest : transplanting to ready [d] at ``reference_temperature`` [degC] and target
        light.
    t_base, t_opt, t_max : temperatures of development [degC].
    t_exponent : power of the response between them with which mass grows [-]; 1: as leaves do.
    kill_temperature, kill_hardened : air [degC] below which a plant dies, straight from the nursery
        and hardened by cold nights; see `crops.survival`.
    heat_limit, chill_limit : mean of its solution on a day [degC] above which heat, of the air
        below which chill does it harm that can kill it.
    dli_min, dli_target : daily light integral [mol m-2 d-1] below which it is refused, slowed.
    light_exponent : how strongly short light slows it [-]: rate is (DLI/target) to this power.
    light_gain : by how much light above the target quickens it at most [-].
    plants_per_hole : seedlings left in one hole [-].
    seeds_per_cell : seeds sown in one nursery cell [-].
    germination : share of seeds that give a seedling [0..1].
    peak_demand : solution drunk by one plant [mL/d] at ``demand_et0`` [mm/d], open sky, were it at
        the full of the stages: with them it says how much is drunk by harvest (`crops.demand`).
    stage_initial : share of the demand just after transplanting [0..1].
    stage_start, stage_full : progress (0 transplanted, 1 ready) at which the stages begin to rise,
        are full; when that is drunk, the leaves say.
    stage_late : read from old files, without effect: demand goes on rising in the hold.
    fresh_mass : harvest of one plant when ready [g], over all cuts.
    hold : days a ready crop stays good in place [d]; after_hold : see `fades`.
    cuts : picks per batch, 1 for heads; cut_interval [d]; cut_shares : share of fresh_mass a cut.
    after_cut : share of the demand left between cuts [0..1].
    storage_life : days it keeps after the pick [d] at ``storage_temperature`` [degC].
    bolt_heat : mean daily maximum over a week [degC] above which a day counts as bolting, or None.
    bolt_daylength : day length [h] above which a day counts as bolting, or None.
    bolt_both : heat and long days are both needed.
    bolt_days : bolting days a batch stands after transplanting before it is lost [d].
    bolt_full_daylength : day length [h] from which a long day counts in full, less long ones in
        part, and by their warmth; 0: each long day counts in full.
    bolt_cold : mean of a day [degC] below which it counts as bolting (`development.bolting_dose`).
    bolt_days_slow, slow_to_bolt : what slow kinds stand [d]; whether this is such a kind.
    ec_low, ec_high : solution strength [mS/cm]; ph_low, ph_high : acidity [-].
    support_mass : mass of one plant [g] at which it needs support, or None.
    uptake_n, uptake_p, uptake_k, uptake_ca, uptake_mg : taken up per litre drunk [mg/L].
    salt_threshold, salt_slope : EC of a soil extract [mS/cm] up to which salt costs nothing, share
        of the yield that each further mS/cm costs [-]; see `crops.solution.strength`.
    parameters : the same numbers as written, with their sources.
    kinds : cultivars that differ from it, by name; kind : the one taken, or empty.
    """

    name: str
    title: str
    group: str
    family: str
    emergence: tuple[tuple[float, float], ...]
    nursery_days: float
    nursery_temperature: float
    nursery_wait: float
    days_to_harvest: float
    reference_temperature: float
    t_base: float
    t_opt: float
    t_max: float
    dli_min: float
    dli_target: float
    light_exponent: float
    plants_per_hole: int
    seeds_per_cell: int
    germination: float
    peak_demand: float
    demand_et0: float
    stage_initial: float
    stage_late: float
    stage_start: float
    stage_full: float
    fresh_mass: float
    hold: float
    cuts: int
    cut_interval: float
    cut_shares: tuple[float, ...]
    after_cut: float
    storage_life: float
    storage_temperature: float
    bolt_heat: float | None
    bolt_daylength: float | None
    bolt_both: bool
    bolt_days: float
    ec_low: float
    ec_high: float
    ph_low: float
    ph_high: float
    support_mass: float | None
    uptake_n: float
    uptake_p: float
    uptake_k: float
    uptake_ca: float
    uptake_mg: float
    salt_threshold: float = 1.3
    salt_slope: float = 0.13
    kill_temperature: float = -2.0
    kill_hardened: float = -4.0
    heat_limit: float = 40.0
    chill_limit: float = -40.0
    bolt_full_daylength: float = 0.0
    bolt_cold: float = -40.0
    bolt_days_slow: float = 0.0
    slow_to_bolt: bool = False
    after_hold: float = 0.0
    light_gain: float = 0.0
    t_exponent: float = 1.0
    parameters: Mapping[str, Parameter] = field(default_factory=dict, compare=False, repr=False)
    kinds: Mapping[str, Kind] = field(default_factory=dict, compare=False, repr=False)
    kind: str = field(default="", compare=False)

    @property
    def fades(self) -> int:
        """Days after its hold in which its worth falls to nothing, in a straight line [d].

        Where the crop does not tell, a third of its hold, at least 2: common practice, no source.
        """
        return round(self.after_hold) or max(2, round(self.hold / 3))

    @property
    def bolts_after(self) -> float:
        """Bolting days that it stands [d], as the kind it is."""
        return self.bolt_days_slow if self.slow_to_bolt else self.bolt_days

    @property
    def bolts_latest(self) -> float:
        """Bolting days that the slowest of its kinds stands [d]."""
        of_kinds = (float(kind.values.get("bolt_days", 0.0)) for kind in self.kinds.values())
        return max(self.bolts_after, self.bolt_days_slow, *of_kinds)
