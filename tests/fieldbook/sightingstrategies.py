"""Sightings of all kinds, drawn at random, for tests that must hold for every one."""

import string
from datetime import UTC, date, datetime, timedelta, timezone
from uuid import UUID

from hypothesis import strategies as st

from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightingtime import When
from stillwing.fieldbook.sightingwords import Basis, Doing, Establishment, LifeStage, SightedSex, Verification

SIGNS = string.ascii_letters + string.digits + "=+-@'\",;: äß×Ω()&<>/\\#%日 "
LINES = st.text(SIGNS, max_size=12).map(str.strip)
FILLED = LINES.filter(bool)
ITEMS = st.lists(FILLED, max_size=3, unique=True).map(tuple)
PICTURES = st.lists(
    st.from_regex(r"[=+@'a-z-][a-z/ ]{0,5}[a-z]\.(jpg|tif)", fullmatch=True)
    | st.from_regex(r"https://[a-z]{1,5}\.org/[a-z]{1,5}\.jpg", fullmatch=True),
    max_size=3,
    unique=True,
).map(tuple)
DAYS = st.dates(date(1800, 1, 1), date(2100, 1, 1))
ZONES = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
INSTANTS = st.datetimes(datetime(1800, 1, 1), datetime(2100, 1, 1), timezones=ZONES)


def _spans(moments):
    return st.tuples(moments, moments).map(sorted).filter(lambda pair: pair[0] < pair[1]).map(lambda pair: When(*pair))


WHEN = st.one_of(st.builds(When, DAYS), st.builds(When, INSTANTS), _spans(DAYS), _spans(INSTANTS))
WHERE = st.one_of(
    st.builds(Where, name=FILLED),
    st.builds(
        Where,
        st.floats(-90, 90),
        st.floats(-180, 180),
        st.none() | st.floats(1e-3, 1e6),
        st.none() | st.sampled_from([1e-7, 0.0001, 0.5]),
        LINES,
    ),
)
OTHERS = st.dictionaries(
    FILLED.filter(lambda name: name != "occurrenceID" and not name.startswith("stillwing:")), FILLED, max_size=3
).map(lambda held: tuple(sorted(held.items())))
SEXES = st.one_of(
    st.just((SightedSex.UNDETERMINED,)),
    st.lists(st.sampled_from(list(SightedSex)[:3]), max_size=3, unique=True).map(tuple),
)


@st.composite
def sightings(draw: st.DrawFn, where: st.SearchStrategy[Where] = WHERE) -> Sighting:
    absent = draw(st.booleans())
    identified_by = draw(ITEMS)
    states = [state for state in Verification if identified_by or state is not Verification.VERIFIED]
    return Sighting(
        id=draw(st.uuids()),
        scientific_name=draw(FILLED),
        when=draw(WHEN),
        where=draw(where),
        name_as_written=draw(LINES),
        qualifier=draw(LINES),
        count=0 if absent else draw(st.none() | st.integers(1, 10_000)),
        sexes=() if absent else draw(SEXES),
        stage=None if absent else draw(st.none() | st.sampled_from(LifeStage)),
        doing=() if absent else draw(st.lists(st.sampled_from(Doing), max_size=3, unique=True).map(tuple)),
        pictures=draw(PICTURES),
        recorded_by=draw(ITEMS),
        identified_by=identified_by,
        verification=draw(st.sampled_from(states)),
        licence=draw(st.sampled_from(["", "https://creativecommons.org/licenses/by/4.0/"])),
        basis=draw(st.sampled_from(Basis)),
        establishment=draw(st.none() | st.sampled_from(Establishment)),
        remarks=draw(LINES),
        sensitive=draw(st.booleans()),
        generalized=draw(LINES),
        withheld=draw(LINES),
        others=draw(OTHERS),
    )


HAWKER = Sighting(
    scientific_name="Aeshna juncea",
    when=When(datetime(2024, 7, 6, 13, 30, tzinfo=UTC)),
    id=UUID(int=7),
    where=Where(52.2053, -0.1218, 8.5, name="Long Pond"),
    name_as_written="big blue hawker",
    qualifier="cf. juncea",
    count=2,
    sexes=(SightedSex.MALE, SightedSex.FEMALE),
    stage=LifeStage.TENERAL,
    doing=(Doing.TANDEM, Doing.FLYING),
    pictures=("day one/0042.jpg", "https://example.org/0043.jpg"),
    recorded_by=("A Person", "B Person"),
    remarks="=SUM(A1) is no formula here",
    others=(("habitat", "bog pool"),),
)
