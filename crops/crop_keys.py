"""Every key of a crop file: its section, unit and permitted range, in one table.

The reader, the JSON Schema and the printed list are all made from this table, so that they cannot
disagree. Ranges are plausibility limits meant to catch slips (a wrong unit, a lost digit), not
agronomy: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

LIGHT_SUM = "mol/m^2/day"


@dataclass(frozen=True)
class Key:
    """One key.

    Attributes
    ----------
    name : key in the file and field of `crops.crop.Crop`.
    section : mapping of the file it stands in.
    kind : ``text``, ``quantity``, ``count`` (whole number), ``flag`` (true or false), ``emergence``
        (temperature: days) or ``shares`` (list).
    unit : unit of the number, empty where it has none.
    low, high : permitted range in that unit, both included.
    meaning : one line for the reader.
    optional : may be ``none``.
    default : number that stands where the key may be left out; None: the key is required.
    """

    name: str
    section: str
    kind: str
    unit: str
    low: float
    high: float
    meaning: str
    optional: bool = False
    default: float | tuple[float, ...] | None = None


def _key(
    section: str,
    name: str,
    unit: str,
    low: float,
    high: float,
    meaning: str,
    *,
    kind: str = "quantity",
    optional: bool = False,
    default: float | tuple[float, ...] | None = None,
) -> Key:
    return Key(name, section, kind, unit, low, high, meaning, optional, default)


_ALL = (
    _key("identity", "name", "", 0, 0, "key, such as pak_choi", kind="text"),
    _key("identity", "title", "", 0, 0, "name as printed", kind="text"),
    _key("identity", "group", "", 0, 0, "produce group it counts for", kind="text"),
    _key("identity", "family", "", 0, 0, "botanical family", kind="text"),
    _key("nursery", "germination", "", 0.05, 1, "seeds that give a seedling"),
    _key("nursery", "seeds_per_cell", "", 1, 50, "seeds sown in one cell", kind="count"),
    _key(
        "nursery",
        "emergence",
        "day",
        0.5,
        120,
        "sowing to emergence by temperature",
        kind="emergence",
    ),
    _key("nursery", "nursery_days", "day", 3, 120, "sowing to transplanting"),
    _key("nursery", "nursery_temperature", "degC", 0, 45, "temperature those days hold at"),
    _key("nursery", "nursery_wait", "day", 0, 60, "a seedling may wait for its tier"),
    _key("development", "days_to_harvest", "day", 5, 200, "transplanting to ready"),
    _key("development", "reference_temperature", "degC", 0, 45, "temperature those days hold at"),
    _key("development", "t_base", "degC", -5, 20, "no development below"),
    _key("development", "t_opt", "degC", 5, 45, "fastest development"),
    _key("development", "t_max", "degC", 10, 55, "no development above"),
    _key(
        "development",
        "t_exponent",
        "",
        0.1,
        2,
        "power of that response with which mass grows",
        default=1.0,
    ),
    # As spring lettuce where a file does not say: tender, on the safe side.
    _key(
        "development",
        "kill_temperature",
        "degC",
        -40,
        15,
        "air below which it dies, straight from the nursery",
        default=-2.0,
    ),
    _key(
        "development",
        "kill_hardened",
        "degC",
        -40,
        15,
        "air below which it dies, hardened by cold nights",
        default=-4.0,
    ),
    _key(
        "development",
        "heat_limit",
        "degC",
        15,
        50,
        "mean of its solution on a day above which heat harms it",
        default=40.0,
    ),
    _key(
        "development",
        "chill_limit",
        "degC",
        -40,
        20,
        "mean of the air on a day below which chill harms it",
        default=-40.0,
    ),
    _key("light", "dli_min", LIGHT_SUM, 0, 60, "daily light below which it is refused"),
    _key("light", "dli_target", LIGHT_SUM, 1, 60, "daily light below which it is slowed"),
    _key("light", "light_exponent", "", 0, 3, "how strongly short light slows it"),
    _key(
        "light",
        "light_gain",
        "",
        0,
        2,
        "by how much light above the target quickens it at most",
        default=0.0,
    ),
    _key("water", "peak_demand", "mL/day", 1, 5000, "drunk by one plant at full stage, open sky"),
    _key("water", "demand_et0", "mm/day", 0.5, 15, "ET0 at which it drinks that much"),
    _key("water", "stage_initial", "", 0, 1, "share of the demand just after transplanting"),
    _key("water", "stage_start", "", 0, 1, "progress at which the stages begin to rise"),
    _key("water", "stage_full", "", 0, 1, "progress at which the stages are full"),
    _key("water", "stage_late", "", 0, 1, "read from old files, without effect", default=1.0),
    _key("harvest", "plants_per_hole", "", 1, 50, "seedlings left in one hole", kind="count"),
    _key("harvest", "fresh_mass", "g", 1, 5000, "harvest of one hole, over all cuts"),
    _key("harvest", "hold", "day", 0, 90, "a ready crop stays good in place"),
    _key(
        "harvest",
        "after_hold",
        "day",
        0,
        90,
        "after that its worth falls to nothing; 0: a third of hold, at least 2 days",
        default=0.0,
    ),
    _key("harvest", "cuts", "", 1, 20, "picks of one batch; 1 for heads", kind="count"),
    _key("harvest", "cut_interval", "day", 0, 60, "from one cut to the next", default=0.0),
    _key(
        "harvest",
        "cut_shares",
        "",
        0,
        1,
        "share of the fresh mass at each cut",
        kind="shares",
        default=(1.0,),
    ),
    _key("harvest", "after_cut", "", 0, 1, "share of the demand left between cuts", default=1.0),
    _key(
        "harvest", "support_mass", "g", 1, 5000, "mass at which a head needs support", optional=True
    ),
    _key("storage", "storage_life", "day", 0, 365, "keeps after the pick"),
    _key("storage", "storage_temperature", "degC", -2, 30, "temperature it keeps at"),
    _key(
        "bolting",
        "bolt_heat",
        "degC",
        10,
        50,
        "weekly mean of the daily maxima above which a day counts",
        optional=True,
    ),
    _key(
        "bolting",
        "bolt_daylength",
        "hour",
        8,
        24,
        "day length above which a day counts",
        optional=True,
    ),
    _key(
        "bolting",
        "bolt_both",
        "",
        0,
        1,
        "heat and long days are both needed",
        kind="flag",
        default=0.0,
    ),
    _key(
        "bolting", "bolt_days", "day", 0, 365, "such days it stands before it is lost", default=0.0
    ),
    _key(
        "bolting",
        "bolt_full_daylength",
        "hour",
        0,
        24,
        "day length from which a long day counts in full, less long ones in part; 0: all do",
        default=0.0,
    ),
    _key(
        "bolting",
        "bolt_cold",
        "degC",
        -40,
        20,
        "mean of a day below which it counts as bolting",
        default=-40.0,
    ),
    _key(
        "bolting",
        "bolt_days_slow",
        "day",
        0,
        365,
        "such days a slow kind stands; 0: no such kinds",
        default=0.0,
    ),
    _key(
        "bolting",
        "slow_to_bolt",
        "",
        0,
        1,
        "whether it is a slow kind",
        kind="flag",
        default=0.0,
    ),
    _key("solution", "ec_low", "mS/cm", 0, 10, "weakest solution"),
    _key("solution", "ec_high", "mS/cm", 0, 10, "strongest solution"),
    _key("solution", "ph_low", "", 3, 10, "lowest pH"),
    _key("solution", "ph_high", "", 3, 10, "highest pH"),
    _key("solution", "uptake_n", "mg/L", 0, 1000, "nitrogen taken up per litre drunk"),
    _key("solution", "uptake_p", "mg/L", 0, 1000, "phosphorus taken up per litre drunk"),
    _key("solution", "uptake_k", "mg/L", 0, 1000, "potassium taken up per litre drunk"),
    _key("solution", "uptake_ca", "mg/L", 0, 1000, "calcium taken up per litre drunk"),
    _key("solution", "uptake_mg", "mg/L", 0, 1000, "magnesium taken up per litre drunk"),
    _key(
        "solution",
        "salt_threshold",
        "mS/cm",
        0,
        20,
        "EC of a soil extract up to which salt costs nothing",
        default=1.3,
    ),
    _key(
        "solution",
        "salt_slope",
        "",
        0,
        1,
        "share of the yield that each further mS/cm costs",
        default=0.13,
    ),
)

KEYS: dict[str, Key] = {key.name: key for key in _ALL}
SECTIONS: tuple[str, ...] = tuple(dict.fromkeys(key.section for key in _ALL))
EMERGENCE_TEMPERATURE = (-5.0, 50.0)  # [degC], range of the temperatures of the emergence table

# Accepted without the unit library: the key's own unit as people write it.
SPELLINGS: dict[str, frozenset[str]] = {
    "day": frozenset({"day", "days", "d"}),
    "hour": frozenset({"hour", "hours", "h"}),
    "degC": frozenset({"degC", "°C", "celsius"}),
    "mL/day": frozenset({"mL/day", "ml/day", "mL/d"}),
    "mm/day": frozenset({"mm/day", "mm/d"}),
    LIGHT_SUM: frozenset({LIGHT_SUM, "mol/m²/day", "mol/m^2/d", "mol/m2/day", "mol/m2/d"}),
    "g": frozenset({"g", "gram", "grams"}),
    "mS/cm": frozenset({"mS/cm", "dS/m"}),
    "mg/L": frozenset({"mg/L", "mg/l"}),
}
