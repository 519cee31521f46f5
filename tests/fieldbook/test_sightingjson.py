import json

import pytest
from hypothesis import given

from stillwing.errors import InputError
from stillwing.fieldbook.sightingjson import sighting_from_json, sighting_to_json

from .sightingstrategies import HAWKER, sightings


@given(sightings())
def test_every_sighting_comes_back_as_it_was(sighting):
    assert sighting_from_json(sighting_to_json(sighting)) == sighting


def changed(**values):
    return json.dumps(json.loads(sighting_to_json(HAWKER)) | values)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("{", "cannot be used"),
        ("[]", "cannot be used"),
        ('{"id": "x"}', "lacks 'stage'"),
        (changed(sexes=["both"]), "'both' is not a valid SightedSex"),
        (changed(when="yesterday"), 'the time is "yesterday"'),
        (changed(count=-1), "count is -1"),
    ],
)
def test_what_is_no_sighting_is_refused_in_a_sentence(text, sentence):
    with pytest.raises(InputError, match=sentence):
        sighting_from_json(text)
