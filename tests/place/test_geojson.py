import json
from dataclasses import replace

import pytest
from shapely.geometry import shape

from stillwing.errors import InputError
from stillwing.place.features import site_geojson
from stillwing.place.geojson import parse_geojson, read_geojson
from stillwing.place.horizon import Horizon, HorizonEntry
from stillwing.place.outline import water_on
from stillwing.place.site import Perch, Site, with_proposed_stands

from .waters import circle, outline, rectangle, ring_at


def line(corners, closed=True):
    points = [[p.longitude_deg, p.latitude_deg] for p in ring_at(corners)]
    return [*points, points[0]] if closed else points


POLYGON = {"type": "Polygon", "coordinates": [line(rectangle(100, 60)), line(rectangle(10, 10))]}
FEATURE = {"type": "Feature", "properties": None, "geometry": POLYGON}
TWO = {"type": "MultiPolygon", "coordinates": [POLYGON["coordinates"], [line(rectangle(20, 20, 200))]]}
CLOSED = {"type": "LineString", "coordinates": line(rectangle(100, 60))}
RINGS = {"type": "MultiLineString", "coordinates": [line(rectangle(10, 10)), line(rectangle(100, 60))]}


def area(drawn):
    return water_on(drawn.outline.plane, drawn.outline).area


@pytest.mark.parametrize(
    ("document", "square_metres"),
    [
        (POLYGON, 5900),
        (FEATURE, 5900),
        ({"type": "FeatureCollection", "features": [FEATURE]}, 5900),
        ({"type": "GeometryCollection", "geometries": [POLYGON]}, 5900),
        (TWO, 6300),
        (CLOSED, 6000),
        (RINGS, 5900),
        ({"type": "Polygon", "coordinates": [line(rectangle(100, 60), closed=False)]}, 6000),
        ({"type": "Polygon", "coordinates": [[[*p, 12.0] for p in line(rectangle(100, 60))]]}, 6000),
    ],
)
def test_all_ways_to_draw_a_water_are_read(document, square_metres, tmp_path):
    file = tmp_path / "pond.geojson"
    file.write_text(json.dumps(document))
    assert area(read_geojson(file)) == pytest.approx(square_metres, rel=1e-3)


def test_a_site_goes_out_and_comes_back_the_same():
    site = with_proposed_stands(Site("mill pond", outline(circle(60, 24), rectangle(10, 10))))
    at = ring_at([(10, 20)])[0]
    site = replace(
        site,
        perches=(Perch("old post", at, 0.8),),
        horizon=Horizon((HorizonEntry(10.0, 5.5, 80.0), HorizonEntry(200.0, 2.0))),
    )
    text = site_geojson(site)
    back = parse_geojson(text, "site").site()
    assert (back.name, back.horizon) == (site.name, site.horizon)
    assert [(s.name, s.faces_deg, s.reach, s.above_water_m) for s in back.stands] == [
        (s.name, s.faces_deg, s.reach, s.above_water_m) for s in site.stands
    ]
    assert back.perches[0].name == "old post"
    for one, other in zip(back.outline.positions, site.outline.positions, strict=True):
        assert one.latitude_deg == pytest.approx(other.latitude_deg, abs=1e-7)
    # A general library reads the same geometry, longitude first, rims closed.
    first = json.loads(text)["features"][0]["geometry"]
    assert shape(first).is_valid
    assert shape(first).centroid.x == pytest.approx(0.1, abs=1e-3)
    assert site_geojson(back) == text


def test_points_without_a_kind_are_marks():
    point = {
        "type": "Feature",
        "properties": {"name": "bench"},
        "geometry": {"type": "Point", "coordinates": [0.1, 52]},
    }
    drawn = parse_geojson(json.dumps({"type": "FeatureCollection", "features": [FEATURE, point]}), "x")
    assert [mark.name for mark in drawn.marks] == ["bench"]
    with pytest.raises(InputError, match="the site has no name"):
        drawn.site()
    assert drawn.site("bench pond").name == "bench pond"


def collection(*features):
    return {"type": "FeatureCollection", "features": list(features)}


def feature(geometry, **properties):
    return {"type": "Feature", "properties": properties, "geometry": geometry}


POINT = {"type": "Point", "coordinates": [0.1, 52]}
EIGHT = {"type": "Polygon", "coordinates": [line([(0, 0), (100, 0), (0, 100), (100, 100)])]}


@pytest.mark.parametrize(
    ("document", "told"),
    [
        ("{", r"^pond is not JSON: line 1, column 2"),
        ("{\n  oops", r"^pond is not JSON: line 2, column 3"),
        ('{"type": "Point", "coordinates": [NaN, 1]}', "NaN is no number"),
        ("[" * 100_000, "^pond is not JSON"),
        ([], r"^pond: there is no type here"),
        ({"type": "Circle", "coordinates": []}, "Circle is no geometry of GeoJSON"),
        ({"type": "FeatureCollection"}, "FeatureCollection has no list of features"),
        (collection(), r"^pond holds no water; draw"),
        (POINT, r"^pond holds 1 point but no water; draw the outline as a polygon"),
        (collection(FEATURE, feature(EIGHT)), r"^pond: feature 2: the outline crosses itself near 52"),
        (feature({"type": "Polygon", "coordinates": []}), "a polygon is a list of rings"),
        (feature({"type": "Polygon", "coordinates": [3]}), "a line is a list of points"),
        (
            collection(feature({"type": "Polygon", "coordinates": [[[1], [2], [3]]]})),
            r"feature 1, point 1: \[1\] is no",
        ),
        (feature({"type": "Point", "coordinates": ["a", True]}), "is no point; it is "),
        (feature({"type": "Point", "coordinates": [10**400, 5]}), "is no point"),
        (feature({"type": "Polygon", "coordinates": [[[52, 100], [52, 101], [51, 101]]]}), "seem to be swapped"),
        (
            collection(feature({"type": "LineString", "coordinates": line(rectangle(100, 60), closed=False)})),
            r"^pond: feature 1 does not close: its ends lie 60 m apart",
        ),
        (
            {**POLYGON, "crs": {"type": "name", "properties": {"name": "EPSG:27700"}}},
            "they must be longitude and latitude",
        ),
        (
            collection(FEATURE, feature(POINT, kind="stand", name="a")),
            "feature 2: faces_deg is missing; it must be a num",
        ),
        (collection(FEATURE, feature(POINT, kind="stand", name="a", faces_deg=1, reach_deg=3)), "a list of pairs"),
        (
            collection(FEATURE, feature(POINT, kind="perch")),
            "feature 2: the perch at 52.00000 N, 0.10000 E has no name",
        ),
        (collection(FEATURE, feature(POINT, kind="horizon", entries=3)), "entries of the horizon are a list"),
        (
            collection(FEATURE, feature(POINT, kind="horizon", entries=[{"bearing_deg": "x", "altitude_deg": 1}])),
            'feature 2: bearing_deg is "x"; it must be a number',
        ),
        ({"type": "Feature", "properties": [1], "geometry": None}, "its properties are no object"),
    ],
)
def test_bad_files_are_told_in_one_sentence_with_the_feature(document, told):
    text = document if isinstance(document, str) else json.dumps(document)
    with pytest.raises(InputError, match=told) as caught:
        parse_geojson(text, "pond")
    assert "\n" not in str(caught.value)
    assert str(caught.value).count("pond") == 1


def test_collections_nested_without_end_are_refused():
    nested = POLYGON
    for _ in range(30):
        nested = {"type": "GeometryCollection", "geometries": [nested]}
    with pytest.raises(InputError, match="nested more than 20 deep"):
        parse_geojson(json.dumps(nested), "pond")


def test_a_datum_that_is_the_same_is_let_through():
    named = {**POLYGON, "crs": {"type": "name", "properties": {"name": "urn:ogc:def:crs:OGC:1.3:CRS84"}}}
    assert area(parse_geojson(json.dumps(named), "pond")) == pytest.approx(5900, rel=1e-3)
