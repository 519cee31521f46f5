import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from stillwing.errors import InputError
from stillwing.place.gpx import parse_gpx, read_gpx, stands_gpx
from stillwing.place.outline import water_on
from stillwing.place.position import Position
from stillwing.place.site import Site, with_proposed_stands
from stillwing.place.stands import Stand

from .waters import outline, rectangle, ring_at

NAMESPACE = "http://www.topografix.com/GPX/1/1"


def gpx(*tracks, routes=(), waypoints=()):
    points = "".join(f'<wpt lat="{p.latitude_deg}" lon="{p.longitude_deg}"><name>post</name></wpt>' for p in waypoints)
    for route in routes:
        points += (
            "<rte>" + "".join(f'<rtept lat="{p.latitude_deg}" lon="{p.longitude_deg}"/>' for p in route) + "</rte>"
        )
    for track in tracks:
        segments = (
            "<trkseg>"
            + "".join(f'<trkpt lat="{p.latitude_deg}" lon="{p.longitude_deg}"><ele>3</ele></trkpt>' for p in segment)
            + "</trkseg>"
            for segment in track
        )
        points += f"<trk>{''.join(segments)}</trk>"
    return f'<?xml version="1.0"?><gpx version="1.1" creator="test" xmlns="{NAMESPACE}">{points}</gpx>'


def area(drawn):
    return water_on(drawn.outline.plane, drawn.outline).area


SQUARE = ring_at([*rectangle(120, 90), rectangle(120, 90)[0]])


def test_a_walk_in_two_segments_is_one_water(tmp_path):
    file = tmp_path / "walk.gpx"
    file.write_text(gpx([SQUARE[:3], SQUARE[3:]], waypoints=ring_at([(5, 5)])))
    drawn = read_gpx(file)
    assert area(drawn) == pytest.approx(120 * 90, rel=1e-3)
    assert drawn.marks[0].name == "post"


def test_a_walk_round_an_island_is_taken_out_and_a_route_will_do():
    island = ring_at([*rectangle(20, 20), rectangle(20, 20)[0]])
    assert area(parse_gpx(gpx([SQUARE], [island]), "walk")) == pytest.approx(120 * 90 - 400, rel=1e-3)
    assert area(parse_gpx(gpx(routes=[SQUARE]), "walk")) == pytest.approx(120 * 90, rel=1e-3)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (gpx([SQUARE[:4]]), r"^pond\.gpx: track 1 does not close: its ends lie 90 m apart"),
        (gpx([SQUARE], [SQUARE[:2]]), r"^pond\.gpx: track 2 has 2 different points"),
        (gpx(waypoints=SQUARE[:2]), r"^pond\.gpx holds 2 points but no water; record a track while walking"),
        (gpx(), r"^pond\.gpx holds no water; record"),
        ("<gpx><trk>", r"^pond\.gpx is no GPX that can be read: .*line 1"),
        ("{}", r"^pond\.gpx is no GPX that can be read"),
        ('<gpx version="1.1"><trk><trkseg><trkpt lat="95" lon="3"/></trkseg></trk></gpx>', "pond.gpx"),
        ('<gpx version="1.1"><trk><trkseg><trkpt lat="x" lon="3"/></trkseg></trk></gpx>', "pond.gpx"),
        ('<!DOCTYPE g [<!ENTITY a "b">]><gpx>&a;</gpx>', "declares XML entities, which GPX has no use for"),
    ],
)
def test_bad_files_are_told_in_one_sentence(text, told):
    with pytest.raises(InputError, match=told) as caught:
        parse_gpx(text, "pond.gpx")
    assert "\n" not in str(caught.value)


def test_stands_go_out_as_waypoints_that_the_standard_allows():
    site = with_proposed_stands(Site("pond & reeds", outline(rectangle(100, 60))))
    edge = Stand("last", Position(180.0, -17.0), 90.0)
    on_edge = Site("edge", outline(rectangle(100, 60), middle=Position(180.0, -17.0)), (edge,))
    root = ET.fromstring(stands_gpx(site))
    assert root.tag == f"{{{NAMESPACE}}}gpx"
    assert (root.get("version"), root.get("creator")) == ("1.1", "stillwing")
    waypoints = root.findall(f"{{{NAMESPACE}}}wpt")
    assert [w.find(f"{{{NAMESPACE}}}name").text for w in waypoints] == [s.name for s in site.stands]
    for waypoint, stand in zip(waypoints, site.stands, strict=True):
        assert float(waypoint.get("lat")) == pytest.approx(stand.position.latitude_deg, abs=1e-7)
        assert f"{stand.faces_deg:.0f} deg" in waypoint.find(f"{{{NAMESPACE}}}desc").text
    # GPX 1.1 schema, longitudeType: 180 itself is excluded.
    assert float(ET.fromstring(stands_gpx(on_edge)).find(f"{{{NAMESPACE}}}wpt").get("lon")) == -180.0
    assert len(ET.fromstring(stands_gpx(replace(site, stands=()))).findall(f"{{{NAMESPACE}}}wpt")) == 0
