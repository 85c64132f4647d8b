"""Canonical text, beside another canonicaliser and the RFC's own examples."""

import json
import math

import pytest
import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st

# No double beyond what JSON has; whole numbers beyond 2^53 - 1 are no I-JSON (RFC 7493, 2.2).
NUMBERS = st.floats(allow_nan=False, allow_infinity=False) | st.integers(1 - 2**53, 2**53 - 1)
WORDS = st.text(st.characters(exclude_categories=["Cs"]))
VALUES = st.recursive(
    st.none() | st.booleans() | NUMBERS | WORDS,
    lambda inner: st.lists(inner) | st.dictionaries(WORDS, inner),
    max_leaves=20,
)
DOCUMENTS = st.dictionaries(WORDS, VALUES, min_size=1)


@settings(max_examples=100)
@given(VALUES)
def test_it_writes_what_the_other_writes(program, value):
    assert program.canonical(value).encode() == rfc8785.dumps(value)


@settings(max_examples=100)
@given(DOCUMENTS)
def test_it_reads_what_the_other_wrote(program, document):
    text = rfc8785.dumps(document)
    read = program.read_text(text)
    assert read.members == json.loads(text, parse_int=float)  # JSON knows doubles alone
    assert rfc8785.dumps(read.members) == text
    for name, part in read.parts.items():
        assert part.encode() == rfc8785.dumps(document[name])


@pytest.mark.slow
@settings(max_examples=2000)
@given(DOCUMENTS)
def test_both_agree_at_length(program, document):
    text = rfc8785.dumps(document)
    assert program.canonical(document).encode() == text
    assert rfc8785.dumps(program.read_text(text).members) == text


@settings(max_examples=100)
@given(DOCUMENTS, st.booleans(), st.booleans())
def test_it_refuses_whatever_the_other_would_write_otherwise(program, document, spaced, escaped):
    text = json.dumps(document, indent=1 if spaced else None, ensure_ascii=escaped).encode()
    if text == rfc8785.dumps(document):
        program.read_text(text)
        return
    with pytest.raises(program.Wrong):
        program.read_text(text)


@pytest.mark.parametrize(
    ("bits", "text"),
    [  # RFC 8785, appendix B
        ("0000000000000000", "0"),
        ("8000000000000000", "0"),
        ("0000000000000001", "5e-324"),
        ("8000000000000001", "-5e-324"),
        ("7fefffffffffffff", "1.7976931348623157e+308"),
        ("4340000000000000", "9007199254740992"),
        ("4430000000000000", "295147905179352830000"),
        ("44b52d02c7e14af5", "9.999999999999997e+22"),
        ("44b52d02c7e14af6", "1e+23"),
        ("44b52d02c7e14af7", "1.0000000000000001e+23"),
        ("444b1ae4d6e2ef4e", "999999999999999700000"),
        ("444b1ae4d6e2ef4f", "999999999999999900000"),
        ("444b1ae4d6e2ef50", "1e+21"),
        ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
        ("3eb0c6f7a0b5ed8d", "0.000001"),
        ("41b3de4355555553", "333333333.3333332"),
        ("41b3de4355555557", "333333333.33333343"),
        ("becbf647612f3696", "-0.0000033333333333333333"),
        ("43143ff3c1cb0959", "1424953923781206.2"),
    ],
)
def test_numbers_of_the_rfc(program, bits, text):
    import struct

    [value] = struct.unpack(">d", bytes.fromhex(bits))
    assert program.canonical(value) == text
    if math.copysign(1, value) > 0 or value:
        assert program.read_text(f'{{"a":{text}}}'.encode()).members == {"a": value}


def test_names_are_in_the_order_of_utf_16(program):
    # RFC 8785, 3.2.3: the surrogates of U+1F600 come before U+FB33.
    text = '{"\\r":1,"1":2,"\x80":3,"ö":4,"€":5,"😀":6,"\ufb33":7}'.encode()
    assert list(program.read_text(text).members.values()) == [1, 2, 3, 4, 5, 6, 7]
    swapped = '{"\\r":1,"1":2,"\x80":3,"ö":4,"€":5,"\ufb33":7,"😀":6}'.encode()
    with pytest.raises(program.Wrong, match="not canonical"):
        program.read_text(swapped)


@pytest.mark.parametrize(
    "text",
    [
        b'{"a":1,"a":1}', b'{"b":1,"a":1}', b'{ "a":1}', b'{"a":1} ', b'{"a":01}', b'{"a":1.0}',
        b'{"a":1e2}', b'{"a":-0}', b'{"a":"\\u0041"}', b'{"a":"\\/"}', b'{"a":NaN}', b'{"a":1e999}',
        b'{"a":9007199254740993}', b'{"a":"\\ud800"}', b'{"a":"\xed\xa0\x80"}', b'{"a":"\xff"}',
        b'{"a":"\n"}', b'{"a":"\\u000A"}', b"[1]", b"", b"{", b'{"a"}', b'{"a":1', b'{"a":1]',
        b'{"a":1}{"b":1}', b'{"a":' + b"[" * 100_000, b'{"a":' + b"9" * 5000 + b"}", b'"a"', b"1",
    ],
)  # fmt: skip
def test_what_is_not_canonical_is_refused_in_words(program, text):
    with pytest.raises(program.Wrong, match="its text is"):
        program.read_text(text)
