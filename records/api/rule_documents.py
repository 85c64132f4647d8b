"""What the API tells of rules, typed for the OpenAPI document."""

from typing import Literal

from pydantic import BaseModel, Field

from records.api.documents import Amount, Compared, Deference, Instant, Uuid


class RuleLimit(BaseModel):
    """One limit of a rule: the catalogue's own, and the one that applies."""

    name: str
    value: str = Field(description="The catalogue's own limit.")
    unit: str
    about: str
    tighter: Literal["lower", "higher"]
    evidence: str
    source: str
    effective: Amount = Field(description="As set for the client that was asked for.")
    looser: bool = Field(description="Whether that lets more pass than the catalogue's own.")
    reason: str


class RuleSetting(BaseModel):
    """A rule's limit as an office has set it for a client."""

    id: Uuid
    client: Uuid
    rule: str
    limit: str
    value: Amount
    looser: bool
    reason: str
    set_by: str
    set_at: Instant
    ended_by: str | None
    ended_at: Instant | None


class PackedRule(BaseModel):
    """A rule of the catalogue, as it is taken along to a visit."""

    id: str
    title: str
    severities: list[str]
    scope: str
    condition: str
    source: str
    needs: list[str]
    waits_for: list[str]
    limits: list[RuleLimit]
    correct_only: bool


Entered = Amount | list[Amount] | str | int | bool | None


class ExampleValue(BaseModel):
    """A value of an example: as it was entered, and as it would agree with the others."""

    name: str
    place: str | None = Field(description="JSON Pointer; null for what stands in no field.")
    value: Entered = Field(description="Null where nothing was entered.")
    mistaken: bool
    agrees: Entered = Field(description="Of a mistaken value: what raises no finding.")


class RuleExample(BaseModel):
    """What is amiss at an invented station, and what the rule says of it."""

    station: str
    mistake: str
    entered: list[ExampleValue]
    severity: Literal["stop", "review", "note"]
    subject: str = Field(description="JSON Pointer into what was judged.")
    about: str = Field(description="The same in words.")
    sentence: str
    compared: list[Compared]
    limit: str = Field(description="The catalogue's own, whatever is set for a client.")
    remedy: str | None
    deference: Deference


class RuleAnswer(PackedRule):
    """A rule of the catalogue, with an example."""

    example: RuleExample


class UnitsOfKind(BaseModel):
    """The units of one kind of quantity."""

    kind: str
    units: list[str]
    si: str
