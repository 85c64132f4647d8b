"""JSON that the service writes itself: what is no number is refused, never written as null."""

import math

import pytest

from calculations.inputs.entered import NumberText
from records.api.json_bodies import JsonRenderer
from records.json_text import Encoder, text_of
from records.services.content import quick_digest

WRITERS = [text_of, Encoder().encode, quick_digest, JsonRenderer().render]


@pytest.mark.parametrize("write", WRITERS, ids=["text", "column", "digest", "answer"])
@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("inside", [lambda n: n, lambda n: [1.5, n], lambda n: [[{"flow": (n,)}]]])
def test_what_is_no_number_is_refused_with_its_name(write, number, inside):
    with pytest.raises(ValueError, match=f"flow: expected a finite number, got {number}"):
        write({"remark": None, "flow": inside(number)})


def test_what_is_not_said_is_null():
    document = {"flow": None, "words": "null and NaN", "values": [1.5, None, NumberText("7.50")]}
    written = b'{"flow":null,"words":"null and NaN","values":[1.5,null,"7.50"]}'
    assert text_of(document) == written
