"""One subject under judgement: values by place, with what is missing collected.

A place is a JSON Pointer into the subject. A few first steps are shorter names for what a rule
means: `/rating` is the motor rating in use, `/settings` what the drive was left with,
`/regulating_sensor` the transmitter that it is regulated on, or started and stopped on.
"""

from collections.abc import Callable, Collection, Hashable, Iterable, Mapping
from functools import lru_cache, wraps
from inspect import Parameter, signature
from math import isfinite
from operator import attrgetter, itemgetter
from typing import Any, Concatenate, NamedTuple, ParamSpec, TypeVar

from calculations import roles, without_drive
from calculations.beside import NOTHING, Beside
from calculations.errors import Beyond, CalculationError, InvalidInput
from calculations.inputs.event import Event
from calculations.inputs.sensor import Instrument, Sensor
from calculations.inputs.settings import Settings
from calculations.inputs.subject import Subject
from calculations.recordings import Recording
from calculations.units import Quantity

Found = TypeVar("Found")
Of = ParamSpec("Of")


class Missing(CalculationError):
    """Values that a rule or a formula needs are not known, or not fit for it: `because` why."""

    code = "missing"

    def __init__(self, *places: str, because: str = "") -> None:
        super().__init__(", ".join(places))
        self.places = places
        self.because = because


class Waits(CalculationError):
    """A finding of another rule leaves nothing to judge here before it is put right."""

    code = "waits"

    def __init__(self, rule: str) -> None:
        super().__init__(rule)
        self.rule = rule


class _Steps(dict[str, tuple[str, Callable[[Any], Any]]]):
    """The place around each place, and what takes the last step from there."""

    def __missing__(self, pointer: str) -> tuple[str, Callable[[Any], Any]]:
        parent, _, name = pointer.rpartition("/")
        taken = itemgetter(int(name)) if name.isdigit() else attrgetter(name)
        step = self[pointer] = parent, taken
        return step


_STEPS = _Steps()
"""Of all cases: there are no more of them than the code and long lists name."""


class _Found(dict[str, Any]):
    """Values by place, each looked up once; the answer `unknown` counts as missing."""

    def __missing__(self, pointer: str) -> Any:
        parent, step = _STEPS[pointer]
        holder = self[parent]
        try:
            value = None if holder is None else step(holder)
        except IndexError:  # the list ends before it
            value = None
        if isinstance(value, str) and value == "unknown":
            value = None
        self[pointer] = value
        return value


class Placed(dict[str, str]):
    """Full pointers by the shorter ones, each put together once; `roots` are those of the names."""

    def __init__(self, roots: Iterable[tuple[str, str]]) -> None:
        self._roots = dict(roots)

    def __missing__(self, pointer: str) -> str:
        short = roles.shortened(pointer)
        place = self[pointer] = self._roots[short[0]] + short[1] if short else pointer
        return place


@lru_cache(maxsize=64)
def placed_by(*roots: tuple[str, str]) -> Placed:
    """Of all cases whose shorter names mean the same: most stations have their parts in order."""
    return Placed(roots)


@lru_cache(maxsize=1024)
def _numbered(place: str, count: int) -> tuple[str, ...]:
    """The places of so many elements of a list."""
    return tuple([f"{place}/{index}" for index in range(count)])


class _Elements(dict[str, tuple[str, ...]]):
    """Places of the elements of lists by the place of the list, each told once."""

    def __init__(self, find: Callable[[str], Any], place: Callable[[str], str]) -> None:
        self._find, self._place = find, place

    def __missing__(self, each: str) -> tuple[str, ...]:
        places = self[each] = _numbered(self._place(each), len(self._find(each) or ()))
        return places


class Formula(NamedTuple):
    """How a derived value is computed [SI], and what it is of."""

    compute: Callable[["Case"], float]
    subject: str


class Case:
    """Reads values of one subject by place; computed values are kept for reuse.

    `recordings` are the rows of its traces by id; `earlier` is the same set at its first visit;
    `accepted` are rules whose findings were accepted as they are; `beside` are other records.
    """

    # Rules ask thousands of times: what a slot holds is found in fewer steps.
    __slots__ = (
        "_computed", "_formulas", "_found", "_limits", "_others", "_roots", "accepted", "beside",
        "earlier", "elements", "event", "find", "fixed_speed", "instrument", "kept", "limit",
        "place", "recordings", "refused", "regulating_sensor", "sensor", "settings", "subject",
    )  # fmt: skip

    def __init__(
        self,
        subject: Subject,
        formulas: Mapping[str, Formula] | None = None,
        limits: Mapping[str, float] | None = None,
        recordings: Mapping[str, Recording] | None = None,
        earlier: "Case | None" = None,
        accepted: Collection[str] = frozenset(),
        beside: Beside = NOTHING,
    ) -> None:
        self.subject, self.beside, self.accepted = subject, beside, accepted
        self.recordings, self.earlier = recordings or {}, earlier
        self._formulas, self._limits = formulas or {}, limits or {}
        self._computed: dict[str, float] = {}
        self._others: list[Case] = []
        self.kept: dict[Hashable, Any] = {}
        """What `once` has made."""
        self.refused: dict[Hashable, CalculationError] = {}
        """What `once` could not make and values that could not be computed, and why."""
        sensors = roles.by_name(subject.sensors or (), "/sensors", "tag")
        self.sensor: Callable[[str | None], tuple[str, Sensor] | None] = sensors.get
        """The sensor of this id or tag with its place; the only one where no name is given."""
        instruments = roles.by_name(subject.instruments or (), "/instruments")
        self.instrument: Callable[[str | None], tuple[str, Instrument] | None] = instruments.get
        """The instrument of this id or serial number with its place."""
        self._roots = roles.roots(subject, sensors)
        self.event: Event | None = subject.event
        """The event, if there is one."""
        self.settings: Settings | None = self._roots["settings"][1]
        """What the drive was left with; as found where nothing was changed."""
        self.regulating_sensor: Sensor | None = self._roots["regulating_sensor"][1]
        """The transmitter that the drive is regulated on."""
        self._found = _Found({"": subject, **{f"/{n}": v for n, (_, v) in self._roots.items()}})
        self.find: Callable[[str], Any] = self._found.__getitem__
        """The value at a place, or None; the answer `unknown` counts as missing."""
        self.place: Callable[[str], str] = placed_by(
            *[(name, place) for name, (place, _) in self._roots.items()]
        ).__getitem__
        """The full pointer that a short one stands for."""
        self.elements: Callable[[str], tuple[str, ...]] = _Elements(
            self.find, self.place
        ).__getitem__
        """The places of the elements of a list; none if the list is not known or empty."""
        self.limit: Callable[[str], float] = self._limits.__getitem__
        """A rule's limit in SI, as this client has set it."""
        self.fixed_speed: bool = without_drive.is_certain(subject, self.find)
        """Whether the pump set is known to have no drive: no settings of one are entered either.

        A stray one of them is told (`drive.missing`), and no other rule reads it.
        """
        if self.fixed_speed:
            for name in without_drive.settings_of_a_drive(self.find):
                self._found[f"/settings/{name}"] = None

    def of(self, subject: Subject) -> "Case":
        """Another subject, read with the same formulas and limits."""
        self._others.append(Case(subject, self._formulas, self._limits))
        return self._others[-1]

    def let_go(self) -> None:
        """Keep no refusals any more: they hold the frames that raised them, and those the case.

        Only the collector of garbage finds such circles, as of a frame with what it has named.
        """
        self.refused.clear()
        for other in self._others:
            other.let_go()

    # -- places ---------------------------------------------------------------------------

    def require(self, *pointers: str) -> tuple[Any, ...]:
        """The values at these places; `Missing` names all that are not known."""
        values = tuple(map(self.find, pointers))
        if all(values) or not any(value is None for value in values):
            return values
        pairs = zip(pointers, values, strict=True)
        raise Missing(*(self.place(pointer) for pointer, value in pairs if value is None))

    def quantity(self, pointer: str) -> Quantity:
        """One quantity; `Missing` if it is not known."""
        found = self._found[pointer]
        if found is None:
            raise Missing(self.place(pointer))
        assert isinstance(found, Quantity), pointer  # noqa: S101 - a place named wrongly in code
        return found

    def si(self, pointer: str) -> float:
        """One quantity's SI value; `Missing` if it is not known."""
        found = self._found[pointer]
        if found is None:
            raise Missing(self.place(pointer))
        value: float = found.si
        return value

    def word(self, pointer: str) -> str:
        """One word of a closed list; `Missing` if it is not known."""
        found = self._found[pointer]
        if found is None:
            raise Missing(self.place(pointer))
        return str(found)

    def is_(self, pointer: str, *words: str | int) -> bool:
        """Whether a place holds one of these words; False if it is not known."""
        return self._found[pointer] in words

    # -- computed values and limits --------------------------------------------------------

    def value(self, name: str) -> float:
        """A derived value in SI, computed once; `Missing` if what it needs is not known.

        What its equation is not valid for is not known either.
        """
        kept = self._computed.get(name)
        if kept is not None:
            return kept
        key = (name,)
        if key not in self.refused:
            compute, subject = self._formulas[name]
            try:
                found = compute(self)
                if not isfinite(found):
                    raise Beyond
            except (Missing, Waits) as reason:
                self.refused[key] = reason
            except InvalidInput as error:
                self.refused[key] = Missing(self.place(subject), because=str(error))
            except ArithmeticError:
                self.refused[key] = Missing(self.place(subject), because=str(Beyond()))
            else:
                self._computed[name] = found
                return found
        raise self.refused[key].with_traceback(None)  # by no name of its own: see `let_go`

    def known(self, name: str) -> float | None:
        """A derived value in SI, or None if what it needs is not known."""
        try:
            return self.value(name)
        except (Missing, Waits):
            return None


def once(
    compute: Callable[Concatenate[Case, Of], Found],
) -> Callable[Concatenate[Case, Of], Found]:
    """What a function makes of a case (and of places in it) is made once, refusals too."""
    parameters = signature(compute).parameters.values()
    plainer = _PLAINER.get(len(parameters)) if all(map(_is_plain, parameters)) else None
    made: Callable[Concatenate[Case, Of], Found] = (plainer or _once_of_more)(compute)
    return made


_REFUSALS = (CalculationError, ArithmeticError)


# Written out for each kind: of the hundreds of values of an event, each would cost a call more.
def _once_of_more(compute: Any) -> Any:
    """For what is made of a case and of whatever else."""

    @wraps(compute)
    def kept(case: Case, /, *of: Hashable, **named: Hashable) -> Any:
        key = (compute, of, *named.items()) if named else (compute, of)
        found = case.kept.get(key, case)
        if found is not case:
            return found
        if key in case.refused:
            raise _again(case, key)
        try:
            found = case.kept[key] = compute(case, *of, **named)
        except _REFUSALS as error:
            raise _refused(case, key, error) from None
        return found

    return kept


def _once_of_the_whole(compute: Any) -> Any:
    """The same, in fewer steps, for what is made of a case alone."""

    @wraps(compute)
    def kept(case: Case, /) -> Any:
        if compute in case.kept:
            return case.kept[compute]
        if compute in case.refused:
            raise _again(case, compute)
        try:
            found = case.kept[compute] = compute(case)
        except _REFUSALS as error:
            raise _refused(case, compute, error) from None
        return found

    return kept


def _once_of_a_place(compute: Any) -> Any:
    """The same for what is made of a case and one thing more, mostly a place."""

    @wraps(compute)
    def kept(case: Case, of: Hashable, /) -> Any:
        key = (compute, of)
        found = case.kept.get(key, case)
        if found is not case:
            return found
        if key in case.refused:
            raise _again(case, key)
        try:
            found = case.kept[key] = compute(case, of)
        except _REFUSALS as error:
            raise _refused(case, key, error) from None
        return found

    return kept


def _is_plain(parameter: Parameter) -> bool:
    return parameter.kind is not Parameter.KEYWORD_ONLY and parameter.default is Parameter.empty


_PLAINER = {1: _once_of_the_whole, 2: _once_of_a_place}
"""By how many arguments there are, none of them with a default or asked for by its name."""


def _refused(case: Case, key: Hashable, error: Exception) -> CalculationError:
    """What is raised now and from now on."""
    case.refused[key] = error if isinstance(error, CalculationError) else Beyond()
    return _again(case, key)


def _again(case: Case, key: Hashable) -> CalculationError:
    """What was raised before, by no name of its own where it is raised: see `let_go`."""
    return case.refused[key].with_traceback(None)
