"""What the API answers of trends, typed for OpenAPI."""

from typing import Annotated, Literal

from pydantic import BaseModel, Field

from calculations.courses.course import Verdict
from calculations.courses.sensors import Anew
from records.api.documents import Uuid
from records.api.due_answers import Day


class Amount(BaseModel):
    """A computed value: digits and unit."""

    value: str
    unit: str


Because = Annotated[str | None, Field(description="Why it is not compared.")]
Noise = Annotated[
    Amount | None,
    Field(description="What the readings of both records explain, either way."),
]
LeftOut = Annotated[
    int, Field(description="Records that were not read: of very many those in the middle.")
]
Lead = Annotated[str, Field(description="What moved beyond the noise, in one line.")]


class TrendThing(BaseModel):
    """A piece that a course is of."""

    piece: Literal["pump", "motor", "drive"]
    serial: str | None


class TrendValue(BaseModel):
    """One record beside the first."""

    record: Uuid
    number: int
    performed_on: Day
    subject: str = Field(description="The reading, as a JSON Pointer into the record.")
    value: Amount | None = Field(description="As it was read.")
    at_first: Amount | None = Field(
        description="Brought to the first record's speed and flow, or to 40 degC."
    )
    change: Amount | None = Field(description="Of that, in % of the first.")
    noise: Noise
    verdict: Verdict
    because: Because


class TrendCourse(BaseModel):
    """One quantity of one thing, from record to record."""

    quantity: Literal["head", "efficiency_drive_input", "efficiency_drive_output", "insulation"]
    title: str
    of: list[TrendThing]
    replaced: bool = Field(description="Another thing stood there before: it began anew.")
    sentence: str
    values: list[TrendValue]


class PumpSetTrendsAnswer(BaseModel):
    """How a pump set moved since its first record."""

    tag: str
    lead: Lead
    left_out: LeftOut
    courses: list[TrendCourse]


class SensorTrendValue(BaseModel):
    """One verification; errors are the largest of each state, in % of span."""

    record: Uuid
    number: int
    performed_on: Day
    as_found: Amount | None
    as_left: Amount | None
    adjusted: bool
    tolerance: Amount
    drift: Amount | None = Field(description="Since the first record, adjustments left out.")
    noise: Noise
    reference_known: bool = Field(description="Whether the noise holds the references' too.")
    verdict: Verdict
    because: Because


class SensorTrendCourse(BaseModel):
    """One transmitter on one range, from verification to verification."""

    serial: str | None
    began_by: Anew | None
    sentence: str
    values: list[SensorTrendValue]


class SensorTrendsAnswer(BaseModel):
    """How a transmitter's errors moved since its first record."""

    tag: str
    lead: Lead
    left_out: LeftOut
    courses: list[SensorTrendCourse]
