"""The shape of a shop file: one YAML file with the sumps, products, containers and habits of a shop.

Quantities are written as people write them (``200 L``, ``50 US gal``, ``6-9 %``); `advisor.logbook.shop_file`
reads them. Nothing but an id is required of a sump: what is not known is asked when it matters.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints, model_validator

from advisor.knowledge.schema import Id, Model, Prose, Short

Written = str | float
#: A country as ISO 3166-1 alpha-2 in small letters, or ``eu``.
Region = Annotated[str, StringConstraints(pattern=r"^[a-z]{2}$")]
Role = Literal["operator", "supervisor", "maintenance", "specialist"]


class ShopFigures(Model):
    """The shop itself.

    ``units``: the habit on screen. ``gallon``: which gallon a bare one is. ``water_hardness`` and
    ``water_source``: of the water coolant is mixed with, where a sump says nothing else.

    ``currency``: the shop's own, such as EUR; ``water_price`` and ``waste_price`` are an amount for a volume
    (``180 per 1000 L``). ``limits_by``: the roles that may change limits and targets. ``checks``: how often
    a check is due here, such as ``{bacteria: 14 days}``, where the shop asks for other than its region's
    list. ``walking_order``: ids of the sumps as they are walked.
    """

    name: Short
    region: Region | None = None
    units: Literal["metric", "us", "imperial"] = "metric"
    gallon: Literal["us", "imperial"] | None = None
    water_source: list[Id] = Field(default_factory=list)
    water_hardness: Written | None = None
    currency: Annotated[str, StringConstraints(pattern=r"^([A-Za-z]{1,5}|[$€£¥])$")] | None = None
    water_price: Written | None = None
    waste_price: Written | None = None
    limits_by: list[Role] = Field(default_factory=list)
    checks: dict[Id, Written] = Field(default_factory=dict)
    walking_order: list[Id] = Field(default_factory=list)
    demo: bool = False
    note: Prose | None = None


class Product(Model):
    """One coolant concentrate, with the figures of its data sheet.

    ``factor``: reading on the glass times this is the strength. ``window``: working range.
    ``ph_first_fill``: of a fresh fill; ``ph``: in use. ``water_hardness``: the range of mixing water it
    stands. ``sump_hardness``, ``conductivity``, ``chloride``, ``sulfate``, ``tramp_oil``, ``temperature``:
    the most (or the range) the sheet allows in use. Each beats the general figure of the rule base.
    ``price``: an amount for a volume or for its ``drum`` (``900 per 200 L``, ``950 per drum``).
    ``sds``: where the safety data sheet is kept. ``label_doses``: what may be added, as the label says.
    """

    id: Id
    name: Short
    factor: Annotated[float, Field(gt=0, le=20)] | None = None
    fluid_type: Id | None = None
    window: Written | None = None
    ph_first_fill: Written | None = None
    ph: Written | None = None
    water_hardness: Written | None = None
    sump_hardness: Written | None = None
    conductivity: Written | None = None
    chloride: Written | None = None
    sulfate: Written | None = None
    tramp_oil: Written | None = None
    temperature: Written | None = None
    sds: Short | None = None
    price: Written | None = None
    drum: Written | None = None
    label_doses: dict[str, Prose] = Field(default_factory=dict)
    note: Prose | None = None


class Shape(Model):
    """Inside measures of a tank up to the full mark: a box (length, width) or a round one (diameter)."""

    length: Short | None = None
    width: Short | None = None
    diameter: Short | None = None
    depth: Short

    @model_validator(mode="after")
    def _one_shape(self) -> Shape:
        box, tube = (self.length, self.width), (self.diameter,)
        if not (all(box) and not any(tube)) and not (all(tube) and not any(box)):
            raise ValueError("give length, width and depth, or diameter and depth")
        return self


class Sump(Model):
    """One sump. ``volume`` or ``shape``; ``window`` and ``target`` are strengths, in per cent."""

    id: Id
    name: Short | None = None
    volume: Written | None = None
    shape: Shape | None = None
    product: Id | None = None
    window: Written | None = None
    target: Written | None = None
    operations: list[Id] = Field(default_factory=list)
    metals: list[Id] = Field(default_factory=list)
    system: Literal["single_sump", "central"] | None = None
    water_source: list[Id] = Field(default_factory=list)
    water_hardness: Written | None = None
    pump_min_level: Written | None = None
    daily_loss: Written | None = None
    pit: bool = False
    note: Prose | None = None

    @model_validator(mode="after")
    def _one_size(self) -> Sump:
        if self.volume is not None and self.shape is not None:
            raise ValueError("give the volume or the shape, not both")
        return self


class Container(Model):
    """Something coolant is mixed or measured in."""

    id: Id
    name: Short | None = None
    kind: Literal["pail", "cup", "drum", "can"] = "pail"
    volume: Written


class Person(Model):
    """Who a sign stands for, and what they may change: limits and targets need a supervisor."""

    id: Short
    name: Short | None = None
    role: Role = "operator"


class Table(Model):
    """What the columns of a table of readings mean, kept under its headings."""

    headings: list[str]
    columns: dict[str, str]


class ShopFile(Model):
    """A whole shop file."""

    shop: ShopFigures
    products: list[Product] = Field(default_factory=list)
    sumps: list[Sump] = Field(default_factory=list)
    containers: list[Container] = Field(default_factory=list)
    people: list[Person] = Field(default_factory=list)
    tables: list[Table] = Field(default_factory=list)
