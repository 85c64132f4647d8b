"""What the API answers of report schedules, reports and calendars, typed for OpenAPI."""

from typing import Literal

from pydantic import BaseModel, Field

from calculations.periods import Period
from records.api.documents import Instant, Uuid
from records.api.due_answers import Day
from records.models.report import Span

ReportState = Literal["waiting", "in work", "failing", "made"]
MailState = Literal["waiting", "tried again", "sent", "given up"]


class ReportScheduleAnswer(BaseModel):
    """That a report is wanted every week or month; ended, it stays readable."""

    id: Uuid
    client: Uuid | None = Field(description="Null: of all that the contractor works for.")
    period: Period
    time_zone: str
    addresses: list[str] = Field(description="Whom it is mailed to.")
    next_begins: Day | None = Field(description="First day of the period that comes next.")
    next_at: Instant | None = Field(description="When its report is asked for.")
    set_by: str
    set_at: Instant
    ended_by: str | None
    ended_at: Instant | None


class CountsOfReport(BaseModel):
    """How many due items there were of each state."""

    overdue: int
    due_soon: int
    never_verified: int
    current: int


class ChangesOfReport(BaseModel):
    """How much changed in the time of a report."""

    became_overdue: int
    outside: int = Field(description="Found or left out of tolerance.")
    done: int = Field(description="Verification tasks that records performed or tried.")
    sealed: int = Field(description="Records.")
    intervals: int = Field(description="Intervals set or ended.")
    pieces: int = Field(description="Into or out of service.")


class ReportFile(BaseModel):
    """A file that a report is kept as."""

    name: str
    content_type: str
    size: int
    sha256: str


class ReportMailAnswer(BaseModel):
    """A report on its way to one address."""

    address: str
    state: MailState
    sent_at: Instant | None
    attempts: int
    detail: str = Field(description="Why it was not sent so far.")


class ReportAnswer(BaseModel):
    """What was due as a day ended, and what had changed since another one."""

    id: Uuid
    client: Uuid | None
    period: Span
    period_begins: Day = Field(description="First day of the changes that it tells.")
    as_of: Day
    time_zone: str
    since: Instant
    until: Instant
    schedule: Uuid | None = Field(description="Null: somebody asked for it.")
    asked_by: str | None
    asked_at: Instant
    state: ReportState
    detail: str
    stations_done: int = Field(description="How many stations are read so far.")
    stations: int | None = Field(description="Of how many.")
    made_at: Instant | None
    counts: CountsOfReport | None
    changes: ChangesOfReport | None
    files: list[ReportFile]
    mails: list[ReportMailAnswer]
