"""What the API answers of verification tasks, due items and intervals, typed for OpenAPI."""

from typing import Annotated, Literal

from pydantic import BaseModel, Field

from calculations.evidence import Evidence
from calculations.inputs.site import SiteKind
from calculations.tasks.performed import AsFound, Result
from calculations.tasks.task import Piece
from records.api.documents import Instant, Uuid

Day = Annotated[str, Field(json_schema_extra={"format": "date"})]
State = Literal["current", "due_soon", "overdue", "never_verified"]
Why = Annotated[str, Field(description="Why that date, in words.")]


class DefaultInterval(BaseModel):
    """A default interval, where all of `when` is so and none of `unless`; common practice."""

    months: int
    when: list[str]
    unless: list[str]
    shortest: int = Field(description="Months down to which history may shorten it.")
    longest: int = Field(description="Months up to which history may lengthen it.")
    evidence: Evidence


class VerificationTaskAnswer(BaseModel):
    """What must be verified again of a kind of piece."""

    id: str
    title: str
    of: Piece
    counted: str = Field(description="Which recorded deeds perform it.")
    safety: bool = Field(description="Its interval may be shortened, never lengthened.")
    once: bool = Field(description="Done once for a piece, again for the one that replaces it.")
    intervals: list[DefaultInterval] = Field(description="The first that fits a piece is its own.")
    otherwise: DefaultInterval = Field(
        description="Where none fits, once the task was performed there."
    )
    source: str


class LastDone(BaseModel):
    """What a date counts from."""

    id: Uuid
    record: Uuid
    number: int
    performed_on: Day
    as_found: AsFound | None


class ImpossibleTry(BaseModel):
    """Why the last try was none; the item stays due."""

    on: Day
    reason: str
    record: Uuid
    number: int


class DueItem(BaseModel):
    """A verification task of a piece with its date."""

    site: Uuid
    station: str = Field(description="Code of the site.")
    client: Uuid
    kind: Piece
    piece: Uuid
    tag: str
    serial: str | None
    pump_set: str | None = Field(description="Tag of the pump set that the piece is in.")
    task: str
    title: str
    as_of: Day = Field(description="The day that was asked, at the site.")
    state: State
    due_on: Day | None = Field(description="Null: done once for this piece.")
    why: Why
    months: int | None
    default_months: int | None = Field(description="By common practice.")
    interval_setting: Uuid | None
    last: LastDone | None
    not_possible: ImpossibleTry | None


class DueCounts(BaseModel):
    """How many due items there are of each state."""

    current: int
    due_soon: int
    overdue: int
    never_verified: int
    not_possible: int = Field(description="Of all of these, whose last try was not possible.")


class RestingRecord(BaseModel):
    """A record whose pump set has the sensor, and for what."""

    record: Uuid
    number: int
    performed_at: Instant
    pump_set: str
    as_: list[str] = Field(alias="as")


class PerformedTaskAnswer(BaseModel):
    """What a record found of a piece, and what rests on it where that was outside its tolerance."""

    id: Uuid
    site: Uuid
    task: str
    tag: str
    serial: str | None
    record: Uuid
    number: int
    performed_on: Day
    result: Result
    as_found: AsFound | None
    last_good_on: Day | None
    taken_out: Uuid | None = Field(
        description="What the same visit found of the sensor that was taken out for this one."
    )
    records: list[RestingRecord]


class IntervalSettingAnswer(BaseModel):
    """How often a task is due, as an office has set it."""

    id: Uuid
    client: Uuid
    task: str
    station_kind: SiteKind | None
    site: Uuid | None
    piece: Uuid | None
    tag: str | None
    months: int
    catalogue_months: int
    reason: str
    proposal: Uuid | None = Field(description="What was found, where a proposal was accepted.")
    set_by: str
    set_at: Instant
    ended_by: str | None
    ended_at: Instant | None


class IntervalProposal(BaseModel):
    """Another interval for a piece, from what was found at the end of the last one."""

    id: Uuid = Field(description="Of what was found: a performed task.")
    site: Uuid
    station: str
    client: Uuid
    kind: Piece
    piece: Uuid
    tag: str
    pump_set: str | None
    task: str
    title: str
    record: Uuid
    number: int
    performed_on: Day
    as_found: AsFound
    months: int = Field(description="The interval that has ended.")
    step: Literal["shorten", "lengthen"]
    proposed_months: int
    shortest: int
    longest: int
    arithmetic: str
    source: str
