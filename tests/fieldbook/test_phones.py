import pytest

from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook.clocks import set_offset_by_hand
from stillwing.fieldbook.phones import phone_named

from .invented import burst_of, listed_outing

ONE = "0b7c6a3e-5d1f-4c57-9a55-2f8e1c0d4b6a"
NEXT = "0b7c6a3f-0000-4c57-9a55-2f8e1c0d4b6a"
OTHER = "ffffffff-0000-4c57-9a55-2f8e1c0d4b6a"


@pytest.fixture
def phones(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 2))
    for device in (ONE, NEXT, OTHER):
        set_offset_by_hand(book, outing.id, device, 0.0)
    return book


@pytest.mark.parametrize(
    ("words", "device"),
    [(ONE, ONE), (ONE.upper(), ONE), ("0b7c6a3e", ONE), (" FFFF ", OTHER), ("0b7c6a3f", NEXT)],
)
def test_a_phone_is_found_by_the_beginning_of_its_id(phones, words, device):
    assert phone_named(phones, words) == device


def test_what_several_begin_with_is_no_name(phones):
    with pytest.raises(InputError, match=f"2 phones have an id that begins with 0b7c6a3: {ONE}, {NEXT}; write more"):
        phone_named(phones, "0b7c6a3")
    with pytest.raises(InputError, match="the phone is 'fff'; write at least 4 characters"):
        phone_named(phones, "fff")


def test_a_phone_that_is_not_known_is_told_with_those_that_are(phones):
    with pytest.raises(UnknownThing, match="no phone has the id 'abcd'; those known are 0b7c6a3e, 0b7c6a3f, ffffffff"):
        phone_named(phones, "abcd")


def test_no_phone_at_all_is_told_so(book):
    with pytest.raises(UnknownThing, match="none has logged yet"):
        phone_named(book, "abcd")
