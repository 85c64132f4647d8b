"""Public keys of Ed25519 for which anybody can write signatures: points of small order.

Computed here from the curve itself (RFC 8032, 5.1): whatever point is taken times the order of
the base point is one of the eight. Each is written as one does, and beyond the field as well.
"""

from collections.abc import Iterator

from tests.records.devices import Device, b64

P = 2**255 - 19
D = -121665 * pow(121666, -1, P) % P
ORDER = 2**252 + 27742317777372353535851937790883648493
Point = tuple[int, int]


def weak_keys() -> list[bytes]:
    """The octets of all of them."""
    points = {_times(ORDER, point) for point in _points()}
    assert len(points) == 8
    return sorted({octets for point in points for octets in _written(point)})


def _points() -> Iterator[Point]:
    """Some points of the curve, in all its cosets of small order."""
    for y in range(2, 40):
        square = (y * y - 1) * pow(D * y * y + 1, -1, P) % P
        x = pow(square, (P + 3) // 8, P)
        if x * x % P != square:
            x = x * pow(2, (P - 1) // 4, P) % P
        if x * x % P == square:
            yield from ((x, y), (-x % P, y), (x, -y % P), (-x % P, -y % P))


def _add(a: Point, b: Point) -> Point:
    both = D * a[0] * b[0] * a[1] * b[1] % P
    x = (a[0] * b[1] + b[0] * a[1]) * pow(1 + both, -1, P)
    y = (a[1] * b[1] + a[0] * b[0]) * pow(1 - both, -1, P)
    return x % P, y % P


def _times(number: int, point: Point) -> Point:
    found: Point = (0, 1)
    while number:
        if number & 1:
            found = _add(found, point)
        point, number = _add(point, point), number >> 1
    return found


def _written(point: Point) -> Iterator[bytes]:
    """With either sign, which OpenSSL takes of x = 0 as well; y + p is the same y."""
    for y in (point[1], point[1] + P):
        for sign in (0, 1):
            if y < 2**255:
                yield (y | sign << 255).to_bytes(32, "little")


class WeakDevice(Device):
    """A device that has such a key, with a signature that was written down without a secret."""

    def __init__(self, octets: bytes) -> None:
        self.octets = octets
        super().__init__()

    def _jwk(self) -> dict[str, str]:
        return {"kty": "OKP", "crv": "Ed25519", "x": b64(self.octets)}

    def _sign(self, data: bytes) -> bytes:
        return b"\1" + bytes(63)  # R is the point of order 1, S is 0
