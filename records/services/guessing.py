"""Limits on guessing: how often something may be tried, counted in the database.

A guess is counted before it is looked at, in a transaction of its own, so that of many guesses at
once no more than the limit are ever compared, and what a view undoes afterwards stays counted. A
window begins with its first guess. What was right is given back.
"""

import ipaddress
from dataclasses import dataclass

from django.db import connection, transaction
from django.utils.crypto import salted_hmac

from records.errors import TooManyGuesses


@dataclass(frozen=True, slots=True)
class Limit:
    """At most so many guesses of one kind within so many seconds."""

    what: str
    most: int
    seconds: int


# Sign-in is counted by address, by account from one address, and by account from everywhere. A
# stranger is stopped by the first two. The third stops many addresses at once; it would shut out
# the person too, so that it does not hold for a browser in which that person signed in before.
SIGN_IN_BY_ADDRESS = Limit("sign-in by address", 60, 600)
SIGN_IN_BY_PAIR = Limit("sign-in by account and address", 10, 600)
SIGN_IN_BY_ACCOUNT = Limit("sign-in by account", 60, 600)
SIGN_IN_BY_BROWSER = Limit("sign-in by known browser", 10, 600)
# Six digits of which three sets are good at a time: 60 a day leave 1 in 5,500 a day, to somebody
# who knows the password.
SECOND_FACTOR = Limit("second factor", 10, 600)
SECOND_FACTOR_DAILY = Limit("second factor in a day", 60, 86_400)
SECOND_FACTOR_BY_ADDRESS = Limit("second factor by address", 60, 600)
SECOND_FACTOR_CODE = Limit("one code", 1, 180)  # each is good once; its time is over by then
RESET_BY_ADDRESS = Limit("reset by address", 20, 600)
RESET_BY_ACCOUNT = Limit("reset by account", 3, 3_600)
LINK_BY_ADDRESS = Limit("link by address", 60, 600)
TOKEN_BY_ADDRESS = Limit("token by address", 100, 600)
ENROLMENT_BY_ADDRESS = Limit("enrolment code by address", 20, 600)

_COUNT = """
INSERT INTO records_guess AS held (what, whom, count, until)
VALUES (%(what)s, %(whom)s, 1, clock_timestamp() + make_interval(secs => %(seconds)s))
ON CONFLICT (what, whom) DO UPDATE SET
  count = CASE WHEN held.until <= clock_timestamp() THEN 1 ELSE held.count + 1 END,
  until = CASE WHEN held.until <= clock_timestamp()
               THEN clock_timestamp() + make_interval(secs => %(seconds)s) ELSE held.until END
RETURNING count, ceil(extract(epoch FROM until - clock_timestamp()))::int
"""
_GIVE_BACK = """
UPDATE records_guess SET count = count - 1
WHERE what = %s AND whom = %s AND count > 0 AND until > clock_timestamp()
"""


def take(limit: Limit, *whom: object) -> None:
    """Count one guess of `whom` (an account, an address, both); `TooManyGuesses` beyond the limit.

    Not inside of another transaction, which could undo it: views that guess are
    `transaction.non_atomic_requests`, and the database's role is that of the log-in.
    """
    values: dict[str, str | bytes | int] = {
        "what": limit.what, "whom": _digest(limit, whom), "seconds": limit.seconds,
    }  # fmt: skip
    with transaction.atomic(durable=True), connection.cursor() as cursor:
        cursor.execute(_COUNT, values)
        count, seconds = cursor.fetchone() or (0, 0)
    if count > limit.most:
        raise TooManyGuesses(retry_after=max(seconds, 1))


def give_back(limit: Limit, *whom: object) -> None:
    """Uncount one guess that turned out right."""
    with transaction.atomic(durable=True), connection.cursor() as cursor:
        cursor.execute(_GIVE_BACK, [limit.what, _digest(limit, whom)])


def forget_old() -> int:
    """Delete what no longer counts; answers how many rows that were."""
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM records_guess WHERE until < clock_timestamp()")
        return int(cursor.rowcount)


def _digest(limit: Limit, whom: tuple[object, ...]) -> bytes:
    """Names and addresses are not kept: people type passwords into fields for names."""
    text = "\0".join(str(each) for each in whom)
    return salted_hmac(f"guess {limit.what}", text, algorithm="sha256").digest()


def source_of(given: str | None) -> str:
    """What guesses from an address are counted by: of IPv6 the /64 that a caller has whole."""
    if given is None:
        return "unknown"
    address = ipaddress.ip_address(given)
    if isinstance(address, ipaddress.IPv6Address):
        if address.ipv4_mapped is not None:
            return str(address.ipv4_mapped)
        return str(ipaddress.ip_network((address, 64), strict=False).network_address)
    return given
