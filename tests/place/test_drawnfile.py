"""A file that draws a water is read by what is in it, whatever its name."""

import pytest

from stillwing.errors import InputError
from stillwing.place.drawnfile import parse_drawn, read_drawn
from stillwing.place.example import example_site
from stillwing.place.features import site_geojson

POINTS = "52.000, 0.100\n52.000, 0.101\n52.001, 0.101\n"
TRACK = (
    '<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
    + "".join(f'<trkpt lat="{a}" lon="{b}"/>' for a, b in ((52, 0.1), (52, 0.101), (52.001, 0.101), (52, 0.1)))
    + "</trkseg></trk></gpx>"
)


def test_geojson_gpx_and_points_are_told_apart():
    assert len(parse_drawn(POINTS, "a").outline.waters[0].rim) == 3
    assert len(parse_drawn(TRACK, "a").outline.waters[0].rim) == 3
    assert parse_drawn(site_geojson(example_site()), "a").name == "mill pond"


def test_a_file_is_read_whatever_its_name(tmp_path):
    path = tmp_path / "bank.pdf"
    path.write_text("\n" + POINTS)
    assert read_drawn(path).outline == parse_drawn(POINTS, "a").outline


@pytest.mark.parametrize("text", ["52.0, 0.1", "{", "<gpx", "[1]", "hello", "99.0, 0.1\n"])
def test_what_draws_no_water_is_named(text):
    with pytest.raises(InputError, match=r"^pond"):
        parse_drawn(text, "pond")
