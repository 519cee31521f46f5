"""What the forms of the Sites page make of what was typed, drawn or sent as a file."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.place.outline import water_on
from stillwing.web.settings_form import FieldError
from stillwing.web.sites_form import (
    TypedSite,
    drawn_outline,
    horizon_from,
    kept_from,
    perch_from,
    read_number,
    stand_from,
    typed_site,
)

from .ponds import AREA_M2, BANK_M, MIDDLE, drawn_pond, round_pond

SQUARE = "53.0000 -0.5000\n53.0000 -0.4990\n53.0006 -0.4990\n53.0006 -0.5000"
BOW_TIE = "0,0;40,40;40,0;0,40"


def pond(**others: str) -> TypedSite:
    return typed_site(drawn_pond(**others))


def test_a_drawn_circle_has_the_area_and_bank_of_its_polygon() -> None:
    outline = drawn_outline(MIDDLE, round_pond())
    water = water_on(outline.plane, outline)
    assert water.area == pytest.approx(AREA_M2, rel=1e-4)
    assert water.length == pytest.approx(BANK_M, rel=1e-4)


def test_a_second_ring_within_the_first_is_an_island() -> None:
    outline = drawn_outline(MIDDLE, f"{round_pond()}\n{round_pond(5.0)}")
    assert len(outline.waters[0].islands) == 1
    water = water_on(outline.plane, outline)
    assert water.area == pytest.approx(AREA_M2 * (1 - (5 / 30) ** 2), rel=1e-4)


@given(st.floats(-80, 80), st.floats(-179, 179), st.floats(3, 400))
def test_a_drawing_keeps_its_size_wherever_its_middle_lies(latitude: float, longitude: float, radius_m: float) -> None:
    outline = drawn_outline(f"{latitude:.5f}, {longitude:.5f}", round_pond(radius_m, 12))
    area = 6 * radius_m**2 * math.sin(2 * math.pi / 12)
    assert water_on(outline.plane, outline).area == pytest.approx(area, rel=2e-3)


def test_stands_are_proposed_as_far_apart_as_asked() -> None:
    few, many = (kept_from(pond(spacing_m=metres)).site.stands for metres in ("20", "5"))
    assert len(few) == round(BANK_M / 20)
    assert len(many) == round(BANK_M / 5)


def test_points_typed_in_make_the_same_site_as_a_file_of_them() -> None:
    typed = kept_from(TypedSite("square", "UTC", way="points", points=SQUARE))
    sent = kept_from(TypedSite("square", "UTC", way="file"), "square.txt", f"# corners\n{SQUARE}\n".encode())
    assert typed == sent


def test_a_file_brings_its_own_name_stands_and_perches() -> None:
    def feature(shape: str, coordinates: object, **properties: object) -> dict[str, object]:
        geometry = {"type": shape, "coordinates": coordinates}
        return {"type": "Feature", "properties": properties, "geometry": geometry}

    features = [
        feature("Polygon", [[[-0.5, 53], [-0.499, 53], [-0.499, 53.001], [-0.5, 53]]]),
        feature("Point", [-0.4995, 53.0001], kind="perch", name="old post"),
        feature("Point", [-0.5, 53], kind="stand", name="gate", faces_deg=45),
    ]
    document = json.dumps({"type": "FeatureCollection", "name": "lower pond", "features": features})
    site = kept_from(TypedSite(zone="UTC", way="file"), "x.json", document.encode()).site
    assert (site.name, [stand.name for stand in site.stands], site.perches[0].name) == (
        "lower pond",
        ["gate"],
        "old post",
    )


def test_a_file_without_a_name_is_called_after_itself() -> None:
    assert kept_from(TypedSite(zone="UTC", way="file"), "far lake.csv", SQUARE.encode()).site.name == "far lake"


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        (pond(zone=""), "zone", "the site has no time zone; give the one its clocks keep, such as Europe/London"),
        (pond(zone="Mars/Olympus"), "zone", "time zone 'Mars/Olympus' is not known"),
        (pond(name=""), "name", "the site has no name; give it one, such as mill pond"),
        (pond(metres=""), "metres", "nothing is drawn yet; put at least three points round the bank"),
        (pond(metres="0,0;4,4"), "metres", "the outline has 2 different points in a ring; it takes at least three"),
        (pond(metres="0,0;4,x;4,4"), "metres", "a point of the drawing is no pair of metres such as 12.5,-3.0"),
        (pond(metres=BOW_TIE), "metres", "the outline crosses itself near 53.00018 N, 0.49970 W"),
        (pond(middle=""), "middle", "the middle of the drawing is missing"),
        (pond(middle="here"), "middle", "'here' is no point"),
        (pond(middle="95, 10"), "middle", "latitude is 95 deg; it must be -90 to 90"),
        (pond(spacing_m="0"), "spacing_m", "spacing_m is 0 m; stands are 0.5 to 10000 m apart"),
        (pond(spacing_m="few"), "spacing_m", "the distance between stands is 'few'; write metres, such as 10"),
        (pond(elevation_m="high"), "elevation_m", "the elevation is 'high'; write metres above the sea, such as 35"),
        (pond(elevation_m="9999"), "elevation_m", "elevation_m is 9999 m"),
        (pond(way="thought"), "way", "'thought' is no way to tell an outline; it is one of drawn, file, points"),
        (pond(way="points"), "points", "no points were typed; write one a line round the bank"),
        (pond(way="points", points="53 0\nthere"), "points", "line 2: 'there' is no point"),
        (pond(way="file"), "file", "no file was chosen; it takes GeoJSON, GPX, or text with one point a line"),
    ],
)  # fmt: skip
def test_what_makes_no_site_is_told_for_its_field(typed: TypedSite, field: str, sentence: str) -> None:
    with pytest.raises(FieldError) as told:
        kept_from(typed)
    assert (told.value.field, str(told.value)[: len(sentence)]) == (field, sentence)
    assert not str(told.value).endswith(".")


@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("a.gpx", b"<gpx", "a.gpx is no GPX that can be read"),
        ("a.json", b"{", "a.json is not JSON: line 1"),
        ("a.json", b"", "a.json is empty"),
        ("a.jpg", b"\xff\xd8\xff\xe0", "a.jpg is not text in UTF-8: byte 1 does not fit"),
        ("a.txt", b"hello", "a.txt: line 1: 'hello' is no point"),
        ("a.json", b'{"type": "Point", "coordinates": [0, 53]}', "a.json holds 1 point but no water"),
    ],
)
def test_a_file_that_holds_no_outline_is_told(name: str, content: bytes, sentence: str) -> None:
    with pytest.raises(FieldError) as told:
        kept_from(TypedSite("x", "UTC", way="file"), name, content)
    assert told.value.field == "file"
    assert str(told.value).startswith(sentence)


def test_a_horizon_is_told_by_degrees_or_by_distance_and_height() -> None:
    rows = [("225", "", "30", "12"), ("", "", "", ""), ("270,5", "15", "", ""), ("300", "10", "40", "")]
    first, second, third = horizon_from(rows).entries
    assert (first.bearing_deg, first.distance_m) == (225, 30)
    assert first.altitude_deg == pytest.approx(math.degrees(math.atan(12 / 30)))
    assert (second.bearing_deg, second.altitude_deg, second.distance_m) == (270.5, 15, math.inf)
    assert (third.altitude_deg, third.distance_m) == (10, 40)


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        (("", "15", "", ""), "row 1: the bearing is missing"),
        (("225", "", "", ""), "row 1: there is no height at bearing 225"),
        (("225", "15", "30", "12"), "row 1: there are two heights at bearing 225"),
        (("225", "", "", "12"), "row 1: what is 12 m high at bearing 225 needs a distance in metres"),
        (("south", "15", "", ""), "row 1: the bearing is 'south'; write degrees from north, such as 225"),
        (("225", "95", "", ""), "row 1: the horizon at bearing 225 deg is 95 deg high"),
    ],
)
def test_a_row_of_the_horizon_that_cannot_be_is_told(row: tuple[str, ...], sentence: str) -> None:
    with pytest.raises(FieldError) as told:
        horizon_from([row])
    assert str(told.value).startswith(sentence)


def test_a_stand_put_by_hand_faces_the_water() -> None:
    site = kept_from(pond()).site
    # 31 m west of the middle: the pond lies to the east.
    west = site.plane.to_positions([(-31.0, 0.0)])[0]
    stand = stand_from(site, " dead  willow ", f"{west.latitude_deg:.7f}, {west.longitude_deg:.7f}", "")
    assert stand.name == "dead willow"
    assert stand.faces_deg == pytest.approx(90, abs=3)
    assert stand.reaches(90)


def test_a_perch_needs_a_place_and_a_name() -> None:
    assert perch_from("post", "53.0001, -0.5", "0,8").above_water_m == 0.8
    with pytest.raises(FieldError, match="has no name") as unnamed:
        perch_from(" ", "53.0001, -0.5", "")
    with pytest.raises(FieldError, match="is no point") as unplaced:
        perch_from("post", "there", "")
    assert (unnamed.value.field, unplaced.value.field) == ("name", "where")


@given(st.floats(-9999, 9999).map(lambda value: round(value, 3)))
def test_a_number_is_read_as_it_was_written(value: float) -> None:
    assert read_number("x", f" {value:.3f} ".replace(".", ","), "x", "y") == value


@pytest.mark.parametrize("typed", ["1e5", "nan", "inf", "--1", "1.2.3", "٣", "1 000"])
def test_what_only_looks_like_a_number_is_none(typed: str) -> None:
    with pytest.raises(InputError):
        read_number("x", typed, "x", "a number")
