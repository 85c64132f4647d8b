"""What goes wrong, each with a code, a human sentence and the status it answers with."""

from collections.abc import Iterable, Mapping

from calculations.inputs.reading import Problem


def first_of_each(problems: Iterable[Problem]) -> list[Problem]:
    """What is wrong with each place, the first that was found of it."""
    return list({each.pointer: each for each in reversed(list(problems))}.values())[::-1]


class BookError(Exception):
    """Root of everything that the book refuses on purpose."""

    code = "refused"
    status = 400
    title = "The request was refused"

    def __init__(
        self,
        detail: str = "",
        problems: Iterable[Problem] = (),
        **extra: object,
    ) -> None:
        self.detail = detail or self.title
        self.problems = tuple(problems)
        self.extra: Mapping[str, object] = extra
        super().__init__(self.detail)


class Invalid(BookError):
    """Values that cannot be taken, each with its place."""

    code = "invalid-document"
    title = "Some values cannot be taken"


class Unreadable(BookError):
    """The body is not a JSON document."""

    code = "unreadable"
    title = "The body cannot be read"


class NotSignedIn(BookError):
    """Nobody is known by these credentials."""

    code = "not-signed-in"
    status = 401
    title = "Sign in, or give a valid token"


class Forbidden(BookError):
    """Visible, but not allowed with this role or token."""

    code = "not-allowed"
    status = 403
    title = "This is not allowed with your role or token"


class ConfirmationNeeded(BookError):
    """A person at a browser must show again who they are, before what binds them."""

    code = "confirmation-needed"
    status = 403
    title = "Confirm who you are first: on the page /confirm"


class SecondFactorNeeded(BookError):
    """A person at a browser has signed in by password alone, where more is asked."""

    code = "second-factor-needed"
    status = 403
    title = "Sign in with a second factor first: on the page /second-factor"


class TooManyGuesses(BookError):
    """Tried too often; `retry_after` says after how many seconds to come back."""

    code = "too-many-guesses"
    status = 429
    title = "Tried too often: wait, then try again"


class NotFound(BookError):
    """Not there, or not visible: the two answer alike."""

    code = "not-found"
    status = 404
    title = "There is no such thing here"


class MethodNotAllowed(BookError):
    """Nothing of the kind is done here."""

    code = "method-not-allowed"
    status = 405
    title = "This cannot be done here: the header Allow names what can"


class UnsupportedMediaType(BookError):
    """A body in a form that is not read here."""

    code = "unsupported-media-type"
    status = 415
    title = "This media type is not read here"


class Conflict(BookError):
    """The state of the book does not allow it."""

    code = "conflict"
    status = 409
    title = "This does not fit what the book already holds"


class SameIdOtherContent(Conflict):
    """An id that is in use was posted with other content."""

    code = "same-id-other-content"
    title = "This id is already in use for other content"

    def __init__(self) -> None:
        words = "expected an id of its own: this one is in use for other content"
        super().__init__(problems=[Problem("/id", "taken", words)])


class Sealed(Conflict):
    """A sealed event stays as it is."""

    code = "sealed"
    title = "The event is sealed: correct it by a new event that names this record"


class Withdrawn(Conflict):
    """A withdrawn event stays as it is."""

    code = "withdrawn"
    title = "The event was withdrawn: nothing more is done with it"


class OffsetMismatch(Conflict):
    """Other bytes of an upload are expected next; `offset` says from where."""

    code = "mismatching-upload-offset"
    title = "Bytes from another place are expected next: Upload-Offset says from where"


class NotReady(Conflict):
    """The event cannot be sealed yet; every reason is listed."""

    code = "not-ready"
    title = "The event cannot be sealed yet"


class LengthRequired(BookError):
    """A body that does not say how long it is."""

    code = "length-required"
    status = 411
    title = "Say in Content-Length how long the body is"


class TooLarge(BookError):
    """More than is read at once."""

    code = "too-large"
    status = 413
    title = "The body is larger than what is read at once"


class Stale(BookError):
    """Somebody else changed it in between."""

    code = "stale"
    status = 412
    title = "It was changed in between: read it again"


class PreconditionRequired(BookError):
    """A change must say which revision it is meant for."""

    code = "if-match-required"
    status = 428
    title = "Give the ETag of what you change in If-Match"


class Unavailable(BookError):
    """The database is away for the moment."""

    code = "unavailable"
    status = 503
    title = "The book cannot be reached at the moment: try again"


class NoSpace(BookError):
    """The disk is full, of the files or of the database."""

    code = "no-space"
    status = 507
    title = "There is no space left to keep this; nothing was changed"


class NoSigningKey(BookError):
    """The service has no key to seal with, or one that it does not know."""

    code = "no-signing-key"
    status = 503
    title = "Records cannot be sealed: the service has no signing key"


class Failed(BookError):
    """A fault of ours."""

    code = "failed"
    status = 500
    title = "Something went wrong on our side; nothing was changed"


ALL: tuple[type[BookError], ...] = (
    BookError, Invalid, Unreadable, NotSignedIn, Forbidden, ConfirmationNeeded,
    SecondFactorNeeded, TooManyGuesses, NotFound, MethodNotAllowed,
    UnsupportedMediaType, Conflict, SameIdOtherContent, Sealed, Withdrawn, OffsetMismatch, NotReady,
    TooLarge, LengthRequired, Stale, PreconditionRequired, Unavailable, NoSpace, NoSigningKey,
    Failed,
)  # fmt: skip
