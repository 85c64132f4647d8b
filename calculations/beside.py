"""Records of the same pump set that a visit is held against, beside the first one."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from calculations.inputs.subject import Subject


@dataclass(frozen=True, slots=True)
class Sealed:
    """What a record says of the pump set, and the record's number at its station."""

    subject: Subject
    number: int | None = None


@dataclass(frozen=True, slots=True)
class Beside:
    """Records around a visit, where there are any.

    first_number: of the first record. last: the newest performed before it, or at the same time.
    following: the oldest performed after it. corrected: the one that it replaces, of whatever pump
    set. left: the newest before it that has settings as left, where the last one has none. anew: by
    kind of comparison the first record since a piece that it rests on was another, where the first
    one of all is of other pieces; by sensor the last of its station in which it was adjusted, or
    else the first in which it was read, where that is not the first one of all; by `counters` the
    newest before it that read one, where the last one read none.
    """

    first_number: int | None = None
    last: Sealed | None = None
    following: Sealed | None = None
    corrected: Sealed | None = None
    left: Sealed | None = None
    anew: Mapping[str, Sealed] = field(default_factory=dict)


NOTHING = Beside()
