"""The inventory file: yards, trucks, stock with serials or counted, the days that a move takes.

One file for all lots: ``format: planforge kits 1``. Items go by their id under ``equipment`` in the lots'
jobs, which state names and weights. Every number of days is in working days.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from planforge.job.base import Date, Id, JobModel, Name, Rated
from planforge.job.quantities import Mass, PositiveLength

Weekday = Literal["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]
Days = Annotated[int, Field(ge=0, le=60)]
Quantity = Annotated[int, Field(ge=1, le=9999)]
Cost = Annotated[int, Field(ge=1, le=10_000_000)]
UnitState = Literal["in service", "removed after a fall event", "away for inspection"]


class Place(JobModel):
    """A yard or another place that kit is kept at and returns to."""

    id: Id
    """The short name that stock and trucks use; no lot's id."""
    name: Name
    """What it is called."""


class Truck(JobModel):
    """A truck or trailer that moves kit."""

    id: Id
    """The short name that the list of moves uses."""
    name: Name
    """What it is called."""
    at: Id
    """The place where it stands."""
    payload: Rated[Mass] | None = None
    """What it may carry, from its plate."""
    bed: Rated[PositiveLength] | None = None
    """The longest piece that lies on its bed."""
    days: list[Weekday] = []
    """The days of the week on which it can be had; empty means every working day."""
    trips: int | None = Field(default=None, ge=1, le=20)
    """The most trips that it makes in a day; absent: no limit is kept."""


class DayRules(JobModel):
    """How days are counted between one lot and the next, stated for the site."""

    worked: list[Weekday] = Field(min_length=1)
    """The days of the week on which work is done."""
    closed: list[Date] = []
    """Days on which no work is done."""
    lead: Days
    """Working days that kit is on a lot before the phase that first uses it, for erection."""
    taking_down: Days
    """Working days after the last day of use until the kit lies ready to load."""
    moving: Days
    """Working days for loading, driving and unloading."""
    inspection: Days
    """Working days until it is inspected after a move and may go up again."""
    waits: Days
    """The most working days that kit waits to go straight to the next lot; beyond, it goes to the yard."""

    @property
    def turnaround(self) -> int:
        """Working days between the last day of use on one lot and the first on another."""
        return self.taking_down + self.moving + self.inspection


class LotRules(JobModel):
    """What holds for the kit of one lot."""

    id: Id
    """The lot."""
    earlier: Days = 0
    """The most working days that its dates may be moved earlier; 0: none."""
    later: Days = 0
    """The most working days that its dates may be moved later; 0: none."""
    lead: Days | None = None
    """Its own lead, where it differs from the site's."""
    by_phase: bool = False
    """True where what only later phases of the job use arrives with them; else everything comes at first."""


class Unit(JobModel):
    """Units with serial numbers that share place, dates and state."""

    serial: Name
    """A serial number, several between commas, or a range such as `PM-041 to PM-051`."""
    at: Id
    """Where they are now: a place of this file or a lot."""
    kit: Name | None = None
    """The kit that they are kept with."""
    inspected: Date | None = None
    """When they were last inspected."""
    due: Date | None = None
    """The last day before which they need no further inspection."""
    state: UnitState = "in service"
    """In service, removed after a fall event, or away for inspection."""
    back: Date | None = None
    """Where they are away for inspection: the day on which they can be used again."""


class Counted(JobModel):
    """Goods without serial numbers, at one place."""

    at: Id
    """Where they are now: a place of this file or a lot."""
    quantity: Quantity
    """How many are there."""
    due: Date | None = None
    """The last day before which they need no further inspection, where they need any."""


class StockItem(JobModel):
    """What the stock holds of one item."""

    id: Id
    """The item's id under `equipment` in the lots' jobs."""
    longest: PositiveLength | None = None
    """The longest piece as it travels."""
    cost: Cost | None = None
    """What one more costs, in whole units of the money of `day_cost`."""
    units: list[Unit] = []
    """Those with serial numbers."""
    counted: list[Counted] = []
    """Those without."""


class Inventory(JobModel):
    """The kits of one contractor, on one day."""

    format: Literal["planforge kits 1"]
    """The form of the file: `planforge kits 1`."""
    stated: Date
    """The day on which everything is where this file says."""
    places: list[Place] = Field(min_length=1)
    """Yards; what has no other place returns to the first."""
    trucks: list[Truck] = []
    """Trucks and trailers."""
    days: DayRules
    """How days are counted."""
    lots: list[LotRules] = []
    """What holds for single lots."""
    stock: list[StockItem] = Field(min_length=1)
    """The stock, item by item."""
    day_cost: Cost | None = None
    """What moving one lot's dates by a working day costs: with the items' costs, the stated exchange."""
