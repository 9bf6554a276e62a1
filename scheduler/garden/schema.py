"""The shape of garden.yaml: sections, keys, units and ranges.

One table for reading and for the JSON Schema that editors use. Ranges are meant to catch slips (a
wrong unit, a lost digit): common practice, no source.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, ConfigDict, Field, WithJsonSchema

from scheduler.garden.fields import (
    Count,
    Day,
    Days,
    Depth,
    File,
    Flag,
    Length,
    Lift,
    Mass,
    Name,
    Section,
    amount,
    crops_in_short,
    one_or_list,
    pure,
    read_depth_table,
    read_fill,
    read_which,
)
from scheduler.garden.labour_schema import HelperModel as HelperModel
from scheduler.garden.labour_schema import LabourModel
from scheduler.garden.labour_schema import WorkDays as WorkDays
from scheduler.garden.place_schema import LampModel, PlaceModel, Share, Stays
from scheduler.garden.solution_schema import SolutionModel
from scheduler.garden.standing_schema import SeedlingsModel, StandingModel
from scheduler.garden.will_schema import FixedModel, Nevers, SameKindWeeks, Shares
from scheduler.garden.wishes import PerWeek


class SpanModel(Section):
    """Days, both included."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)
    start: Day = Field(alias="from", description="first day")
    end: Day = Field(alias="to", description="last day")


Spans = Annotated[
    list[SpanModel], BeforeValidator(one_or_list), Field(default_factory=list, max_length=500)
]


class SiteModel(Section):
    """Where the garden stands."""

    latitude: Annotated[float, *amount("degree", -90, 90)] = Field(
        description="north positive, such as 45.2 degree"
    )
    elevation: Annotated[float, *amount("metre", -450, 6000)] = Field(
        description="above the sea, such as 120 m"
    )
    climate: File = Field(description="CSV file with twelve months or daily rows")
    past: File | None = Field(
        None, description="CSV file with daily rows of past years: whole years to plan and judge by"
    )
    coastal: Flag = Field(False, description="true beside a large body of water")


class SeasonModel(Section):
    """First and last day, days with work, days away."""

    start: Day = Field(description="first day, such as 2027-04-12")
    end: Day = Field(description="last day, such as 2027-10-10")
    work_days: WorkDays = Field(
        list(range(7)), description="weekdays with work, such as [mon, wed, fri]"
    )
    pick_days: WorkDays | None = Field(
        None, description="work days on which is picked, such as [tue, fri]; left out: all of them"
    )
    away: Spans = Field(description="days without work, such as {from: 2027-08-06, to: 2027-08-15}")


class PlugsModel(Section):
    """Where a vessel's plugs or net pots sit."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)
    place: Literal["lid", "side"] = Field(
        alias="in", description="lid (they hang straight down) or side (they lean inwards)"
    )
    depth: Length = Field(description="length of a plug inside the vessel, such as 5 cm")
    hole: Length | None = Field(
        None, description="side: height of a hole's lower edge above the bottom, such as 30 cm"
    )
    angle: Annotated[float, *amount("degree", 1, 90)] | None = Field(
        None, description="side: of a plug below the level, such as 45 degree"
    )
    holes: Annotated[int, *pure(1, 200, "a whole number from 1 to 200", whole=True)] | None = Field(
        None, description="holes of the vessel; left out: as many as plants"
    )


class VesselModel(Section):
    """One kind of vessel."""

    shape: Literal["round", "straight", "rectangular", "table"] = Field(
        description="round (tapered), straight (round, same width), rectangular or table"
    )
    bottom: Length | None = Field(None, description="round: inside diameter at the bottom")
    top: Length | None = Field(None, description="round: inside diameter at the top")
    diameter: Length | None = Field(None, description="straight: inside diameter")
    length: Length | None = Field(None, description="rectangular: inside length")
    width: Length | None = Field(None, description="rectangular: inside width")
    height: Length | None = Field(None, description="inside height")
    table: (
        Annotated[
            list[tuple[float, float]],
            BeforeValidator(read_depth_table),
            WithJsonSchema({"type": "object", "additionalProperties": {"type": "string"}}),
        ]
        | None
    ) = Field(None, description="table: volume at each depth, as measured")
    fill: Annotated[
        tuple[str, float], BeforeValidator(read_fill), WithJsonSchema({"type": "string"})
    ] = Field(description="volume or depth at filling, such as 18 L or 9 in")
    keep: Depth = Field(0.0, description="depth that must remain at harvest, such as 2 cm")
    mass: Mass = Field(description="empty mass with lid, pots and medium, such as 1.4 kg")
    rain: Flag = Field(True, description="false if its lid keeps rain out: it needs no cover")
    wall: Literal["dark", "grey", "white"] = Field(
        "grey", description="how much sun it takes in; with a pale wrap or foil, white"
    )
    plugs: PlugsModel | None = Field(
        None, description="where the plugs sit; the fill is then checked against them"
    )


class RestModel(Section):
    """After root disease a family waits."""

    family: str = Field(description="botanical family, such as Brassicaceae")
    until: Day = Field(description="last day of the rest")


class TierModel(Section):
    """One tier."""

    vessel: Name = Field(description="name of a vessel of the section vessels")
    light: Annotated[
        float, *pure(0, 1, "a share of the open sky's light, 0 to 1 or 0 % to 100 %", percent=True)
    ] = Field(description="share of the open sky's light")
    plants: Annotated[int, *pure(1, 200, "a whole number from 1 to 200", whole=True)] = Field(
        description="holes that are planted, one plant or plug each"
    )
    available: Spans = Field(description="days on which it may hold a crop; left out: always")
    rests: Annotated[list[RestModel], BeforeValidator(one_or_list)] = Field(
        default_factory=list, max_length=100, description="families that wait after disease"
    )
    never: Nevers


class ColumnModel(Section):
    """A column, or several alike."""

    name: Name | None = Field(None, description="name of the column")
    names: list[Name] | None = Field(
        None, min_length=1, description="names of several columns alike, in place of name"
    )
    count: Count | None = Field(
        None, description="how many alike: name A and count 3 give A1, A2, A3"
    )
    tiers: list[TierModel] = Field(
        min_length=1, max_length=50, description="tiers from top to bottom"
    )
    place: Stays = Field(
        description="where it stands: a place, or places with from and to; else in the open"
    )
    may_stand: list[Name] | None = Field(
        None,
        min_length=2,
        max_length=10,
        description="places of which the plan chooses, in place of place; the first until then",
    )
    never: Nevers


class NurseryModel(Section):
    """Where seedlings are raised."""

    cells: Annotated[int, *pure(0, 1_000_000, "a whole number, 0 or more", whole=True)] = Field(
        description="cells, one seedling or plug each"
    )
    temperature: Annotated[float, *amount("degC", 0, 45)] | None = Field(
        None, description="if it stands indoors, such as 20 degC; left out: outdoors"
    )
    lamp: LampModel | None = Field(None, description="over the cells: its energy is told")
    light: Share | None = Field(
        None, description="share of the open sky's light at the cells, such as 20 % at a window"
    )


class DemandModel(Section):
    """A weekly wish for one produce group."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)
    group: Name = Field(
        description="produce group, such as lettuce; with crops listed, any name of your own"
    )
    per_week: PerWeek = Field(
        description="mass a week, such as 2 kg; or 3 heads, 2 bunches, 2 people x 3 salads"
    )
    start: Day | None = Field(None, alias="from", description="first day; left out: the season's")
    end: Day | None = Field(None, alias="to", description="last day; left out: the season's")
    weight: Annotated[float, *pure(0.001, 1000, "a number from 0.001 to 1000")] = Field(
        1.0, description="worth of a gram against other groups'"
    )
    crops: list[str] | None = Field(
        None,
        min_length=1,
        description="crops that count for it, of any group, and then for no other wish; the group "
        "may have any name. Left out: the crops of the group that no other wish lists",
    )
    shares: Shares
    same_kind_weeks: SameKindWeeks | None = Field(
        None,
        description="the same kind at most so many weeks running: a week is of a kind that is more "
        "than three quarters of what is picked for it",
    )


class EventModel(Section):
    """So much of a group on a date."""

    date: Day = Field(description="the day, such as 2027-07-17")
    group: Name = Field(description="a group of the section demand")
    amount: PerWeek = Field(description="mass, such as 2 kg; or 20 heads, 20 people x 1 salad")
    name: Name | None = Field(None, description="what it is, such as summer lunch")


class LimitsModel(Section):
    """What the grower can do."""

    lift: Lift | None = Field(None, description="heaviest single vessel lifted, such as 16 kg")
    fills_per_day: Count | None = Field(None, description="vessels filled on one day")
    picks_per_day: Count | None = Field(None, description="tiers picked from on one day")
    minutes_per_day: Annotated[float, *amount("min", 1, 1440)] | None = Field(
        None, description="work on one day, such as 90 min"
    )
    labour: LabourModel = Field(
        default_factory=lambda: LabourModel.model_validate({}),
        description="how long each kind of work takes",
    )
    dry_margin: Days = Field(2.0, description="days between last pick and dry date, as 2 days")
    turnaround: Days = Field(1.0, description="days from clearing to filling again, as 1 day")
    young: Annotated[float, *pure(0.5, 1, "a share from 50 % to 100 %", percent=True)] = Field(
        0.8, description="share of its full mass from which a head may be picked, as 80 %"
    )


class CropsModel(Section):
    """Which crops, changes to their numbers, and crops of the grower's own."""

    which: Annotated[
        list[str] | None,
        BeforeValidator(read_which),
        WithJsonSchema(
            {
                "anyOf": [
                    {"const": "all"},
                    {"type": "array", "items": {"type": "string"}},
                ]
            }
        ),
    ] = Field(None, description="all, or a list of crops of the catalogue")
    overrides: dict[str, dict[str, Any]] = Field(
        default_factory=dict, description="crop: {key: value with unit}, or {kind: a kind of it}"
    )
    learned: File | None = Field(
        None, description="overrides that dryline review wrote; those above come first"
    )
    files: list[File] = Field(
        default_factory=list, max_length=100, description="crop files beside garden.yaml"
    )


class GardenModel(Section):
    """garden.yaml: everything a plan depends on."""

    name: Name = Field("garden", description="the garden's name")
    invented: Flag = Field(False, description="true where place and numbers are made up")
    units: Literal["metric", "us"] = Field("metric", description="units of what is printed")
    site: SiteModel = Field(description="where the garden stands")
    season: SeasonModel = Field(description="first and last day, work days, days away")
    vessels: dict[Name, VesselModel] = Field(min_length=1, description="kinds of vessel by name")
    places: dict[str, PlaceModel] = Field(
        default_factory=dict, description="places for columns by name"
    )
    columns: list[ColumnModel] = Field(min_length=1, description="columns of tiers")
    nursery: NurseryModel = Field(description="cells and temperature")
    demand: list[DemandModel] = Field(min_length=1, description="weekly wishes by produce group")
    limits: LimitsModel = Field(
        default_factory=lambda: LimitsModel.model_validate({}), description="what can be done"
    )
    events: list[EventModel] = Field(
        default_factory=list,
        max_length=200,
        description="what is wanted on a date, beside the weekly wish",
    )
    helpers: list[HelperModel] = Field(
        default_factory=list,
        max_length=100,
        description="who helps, on which weekdays and how long; in place of limits.minutes_per_day",
    )
    crops: Annotated[CropsModel, BeforeValidator(crops_in_short)] = Field(
        default_factory=lambda: CropsModel.model_validate({}),
        description="which crops, with changes; left out: the whole catalogue",
    )
    solution: SolutionModel = Field(
        default_factory=lambda: SolutionModel.model_validate({}),
        description="fertilizers, water, acid, scale; left out: three common salts",
    )
    standing: list[StandingModel] = Field(
        default_factory=list, description="crops that stand in tiers on the season's first day"
    )
    seedlings: list[SeedlingsModel] = Field(
        default_factory=list, description="seedlings in the nursery on the season's first day"
    )
    fixed: list[FixedModel] = Field(
        default_factory=list, max_length=500, description="batches that the plan must hold"
    )
    never: Nevers
