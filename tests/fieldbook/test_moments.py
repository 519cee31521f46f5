import json
import threading
import uuid
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.errors import FieldBookError, InputError
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.clocks import set_offset_by_hand
from stillwing.fieldbook.moment import Moment, MomentKind
from stillwing.fieldbook.moments import (
    TakenIn,
    corrected_instants,
    moment_to_json,
    moments,
    moments_from_json,
    moments_of_outing,
    moments_to_json,
    take_in,
)

from .invented import START, burst_of, listed_outing, plan

PHONE, OTHER_PHONE = str(uuid.UUID(int=1)), str(uuid.UUID(int=2))


def moment(number=1, seconds=0.0, kind=MomentKind.PASS, **values):
    at = START + timedelta(seconds=seconds)
    usual = {"id": str(uuid.UUID(int=1000 + number)), "device": PHONE, "changed_at": at}
    return Moment(kind=kind, at=at, **{**usual, **values})


words = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=5)
instants = st.integers(0, 3).map(lambda i: START + timedelta(milliseconds=i))
# Few ids and few instants, so that versions of one moment meet and tie.
drawn = st.builds(
    Moment,
    id=st.integers(1, 4).map(lambda i: str(uuid.UUID(int=i))),
    kind=st.sampled_from([MomentKind.PASS, MomentKind.PERCH]),
    at=instants,
    device=st.sampled_from([PHONE, OTHER_PHONE]),
    changed_at=instants,
    animal=words,
    undone=st.booleans(),
)


def merged(book, *batches):
    with book.writing() as connection:
        connection.execute(schema.moment.delete())
    for batch in batches:
        take_in(book, batch)
    return moments(book, include_undone=True)


@given(st.lists(drawn, min_size=1, max_size=8), st.data())
@settings(max_examples=40, deadline=None)
def test_any_order_and_repetition_gives_the_same_book(sent, data):
    again = data.draw(st.permutations([*sent, *data.draw(st.lists(st.sampled_from(sent), max_size=4))]))
    cut = data.draw(st.integers(0, len(again)))
    with TemporaryDirectory() as folder, open_book(Path(folder) / "book.sqlite") as book:
        once = merged(book, sent)
        assert merged(book, again[:cut], again[cut:]) == once
    for one in once:
        assert one.changed_at == max(other.changed_at for other in sent if other.id == one.id)


def test_two_phones_at_once_lose_nothing(tmp_path):
    path = tmp_path / "book.sqlite"
    batches = [[moment(100 * phone + i, i) for i in range(50)] for phone in range(4)]
    with open_book(path) as book:
        threads = [threading.Thread(target=take_in, args=(book, batch)) for batch in [*batches, *batches]]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert {one.id for one in moments(book)} == {one.id for batch in batches for one in batch}


def test_what_came_is_told_as_new_changed_or_known(book):
    first, second = moment(1), moment(2)
    later = replace(first, note="closer", changed_at=first.changed_at + timedelta(milliseconds=1))
    assert take_in(book, [first, first]) == TakenIn((first.id,), (), ())
    assert take_in(book, [first, second]) == TakenIn((second.id,), (), (first.id,))
    assert take_in(book, [later]) == TakenIn((), (later.id,), ())
    assert take_in(book, [first]) == TakenIn((), (), (first.id,))
    assert moments(book)[0] == later
    assert take_in(book, []) == TakenIn((), (), ())


def test_a_tap_taken_back_is_kept_and_not_counted(book):
    tap = moment(undone=True)
    take_in(book, [tap])
    assert moments(book) == ()
    assert moments(book, include_undone=True) == (tap,)


def test_more_than_ten_thousand_at_once_are_refused_and_ten_thousand_are_not(book):
    with pytest.raises(InputError, match="10,001 moments were sent; up to 10,000"):
        take_in(book, [moment(i) for i in range(10_001)])
    assert moments(book) == ()
    assert len(take_in(book, [moment(i, i / 1000) for i in range(10_000)]).new) == 10_000


def test_moments_are_found_by_time_and_site(book):
    take_in(book, [moment(i, i, site="Reed  Bank" if i % 2 else "") for i in range(6)])
    after = START + timedelta(seconds=1)
    before = START.astimezone(timezone(timedelta(hours=2))) + timedelta(seconds=4)
    assert [one.at.second for one in moments(book, after, before)] == [1, 2, 3]
    assert [one.at.second for one in moments(book, site="reed bank")] == [1, 3, 5]
    assert moments(book, datetime.min.replace(tzinfo=UTC), datetime.max.replace(tzinfo=UTC)) == moments(book)
    with pytest.raises(InputError, match="says no time zone"):
        moments(book, datetime(2026, 6, 1))


def test_moments_of_a_day_are_found_by_their_index(book):
    from sqlalchemy import select

    query = select(schema.moment).where(schema.moment.c.at >= "2026").order_by(schema.moment.c.at, schema.moment.c.id)
    steps = plan(book, query)
    assert any("ix_moment_at_id" in step for step in steps)
    assert not any("TEMP B-TREE" in step for step in steps)


def test_an_outing_has_the_moments_from_two_hours_before_to_two_hours_after(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 3), burst_of(photos, 3, first=10, minutes=60))
    edge = 2 * 3600.0
    take_in(book, [moment(i, s) for i, s in enumerate([-edge - 1, -edge + 1, 1800, 3600 + edge - 1, 3600 + edge + 1])])
    assert [one.at for one in moments_of_outing(book, outing.id)] == [
        START + timedelta(seconds=s) for s in (-edge + 1, 1800, 3600 + edge - 1)
    ]
    set_offset_by_hand(book, outing.id, PHONE, 10.0)
    assert [one.at for one in moments_of_outing(book, outing.id)] == [
        START + timedelta(seconds=s) for s in (-edge - 1, -edge + 1, 1800)
    ]
    assert moments_of_outing(book, 99) == ()


def test_a_second_phone_is_put_right_by_the_first(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 3))
    set_offset_by_hand(book, outing.id, PHONE, 100.0)
    set_offset_by_hand(book, outing.id, OTHER_PHONE, 130.0)
    # The other phone is 30 s behind: what it logs at 5 s was after what the first logged at 20 s.
    late, early = moment(1, 5, device=OTHER_PHONE), moment(2, 20)
    take_in(book, [late, early])
    assert moments(book) == (early, late) == moments_of_outing(book, outing.id)
    assert corrected_instants(book, (early, late)) == (early.at, late.at + timedelta(seconds=30))
    assert moments(book, START + timedelta(seconds=30)) == (late,)


def test_a_document_comes_back_as_it_went():
    hover = moment(kind=MomentKind.HOVER, until=START + timedelta(seconds=4.25), note="24 °C\nwind", animal="emperor")
    sent = (hover, moment(2, 1.5, kind=MomentKind.TAKE_OFF, device=OTHER_PHONE, undone=True))
    assert moments_from_json(moments_to_json(sent)) == sent
    assert moments_from_json(moments_to_json(sent).encode()) == sent


def document(*written, **changed):
    whole = {"stillwing": "moments", "version": 1, "device": PHONE, "moments": list(written), **changed}
    return json.dumps(whole)


def written(**changed):
    return {**moment_to_json(moment()), **changed}


def test_what_another_phone_may_write_is_taken():
    sent = {
        "id": str(uuid.UUID(int=15)).upper(),
        "kind": "pass",
        "at": "2026-06-01T12:00:00.1239+02:00",
        "changed_at": "2026-06-01T10:00:01Z",
        "strength": 4,
    }
    (taken,) = moments_from_json(document(sent, owner="nobody"))
    assert taken == Moment(
        id=str(uuid.UUID(int=15)),
        kind=MomentKind.PASS,
        at=datetime(2026, 6, 1, 10, 0, 0, 123000, tzinfo=UTC),
        device=PHONE,
        changed_at=datetime(2026, 6, 1, 10, 0, 1, tzinfo=UTC),
    )


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("{", "^phone.json is no JSON that can be read"),
        (b"\xff{}", "^phone.json is no JSON that can be read"),
        ("[" * 100_000, "^phone.json is no JSON that can be read: it is nested too deeply"),
        ("[]", r"^phone.json is \[\]; it must be an object"),
        ("{}", "^phone.json holds no moments; a file of moments begins"),
        (document(version=2), "^phone.json is of version 2; this stillwing reads version 1"),
        (document(version=True), "^phone.json is of version true"),
        (document(moments=None), "^phone.json: moments is missing; it must be a list"),
        (document(*[{}] * 10_001), "^phone.json holds 10,001 moments; up to 10,000"),
        (document(written(), 7), "^phone.json: moment 2 is 7; it must be an object"),
        (document(written(id="tap 1")), "^phone.json: moment 1: id is 'tap 1'; it must be a UUID"),
        (document(written(id=str(uuid.UUID(int=0)))), "moment 1: id is '00000000-0000"),
        (document(written(id=None)), "moment 1: id is missing; it must be text"),
        (document(written(device=None), device=None), "moment 1: device is missing"),
        (document(written(kind="dance")), "moment 1: kind is 'dance'; it must be one of: hover, pass, perch, take-off"),
        (document(written(at="noon")), "moment 1: at is 'noon'; it must be an instant, such as"),
        (document(written(at="2026-06-01T10:00:00")), "says no offset from UTC; end it with Z"),
        (document(written(at="1970-01-01T00:00:09Z")), "at is 1970-01-01T00:00:09.000Z; it must be from 2000 to 2099"),
        (document(written(at="0001-01-01T00:00:00+14:00")), "must be an instant"),
        (document(written(changed_at="2100-01-01T00:00:00Z")), "changed_at is 2100-01-01"),
        (document(written(until="2026-06-01T10:00:09Z")), "until is given for a pass; only a hover has an end"),
        (document(written(kind="hover", until="2026-06-01T09:00:00Z")), "a hover ends after it began"),
        (document(written(animal="a" * 101)), "animal has 101 characters; it may have up to 100"),
        (document(written(note="a" * 1001)), "note has 1001 characters; it may have up to 1000"),
        (document(written(perch="a\0b")), r"perch holds U\+0000 at character 2, which is no text"),
        (document(written(note="a\ud800")), r"note holds U\+D800 at character 2"),
        (document(written(site=3)), "site is 3; it must be text"),
        (document(written(undone="no")), 'undone is "no"; it must be true or false'),
    ],
)
def test_a_bad_document_is_refused_with_the_place_of_what_is_wrong(text, told):
    with pytest.raises(InputError, match=told) as caught:
        moments_from_json(text, "phone.json")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"at": datetime(2026, 6, 1)}, "it must be in UTC, to the millisecond"),
        ({"at": START.astimezone(timezone(timedelta(hours=1)))}, "it must be in UTC"),
        ({"at": START.replace(microsecond=1)}, "to the millisecond"),
        ({"id": str(uuid.UUID(int=10**30)).upper()}, "must be a UUID"),
    ],
)
def test_a_moment_that_no_phone_can_have_logged_is_refused(values, told):
    with pytest.raises(InputError, match=told):
        replace(moment(), **values)


def test_a_moment_damaged_by_another_program_is_told(book):
    tap = moment()
    take_in(book, [tap])
    with book.writing() as connection:
        connection.exec_driver_sql("UPDATE moment SET kind = 'dance'")
    with pytest.raises(FieldBookError, match=f"the stored moment {tap.id} cannot be used: 'dance'"):
        moments(book)


def test_examples_of_rfc_9562_are_taken_as_ids():
    # RFC 9562 (2024), appendices A.1 to A.6: one UUID of each version.
    for example in (
        "C232AB00-9414-11EC-B3C8-9F6BDECED846",
        "5df41881-3aed-3515-88a7-2f4a814cf09e",
        "919108f7-52d1-4320-9bac-f847db4148a8",
        "2ed6657d-e927-568b-95e1-2665a8aea6a2",
        "1EC9414C-232A-6B00-B3C8-9F6BDECED846",
        "017F22E2-79B0-7CC3-98C4-DC0C0C07398F",
    ):
        assert moments_from_json(document(written(id=example)))[0].id == example.lower()
