"""A position is read back with libexiv2's XMP toolkit and with ElementTree, which had no part in writing it."""

import re
import xml.etree.ElementTree as ET

import exiv2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.place.position import Position
from stillwing.share.packetparts import NEW_PACKET
from stillwing.share.packetposition import (
    PositionMark,
    holds_position,
    position_in,
    position_mark,
    put_position,
    restore_position,
)
from stillwing.share.spans import NotXml

from . import packets

NAMES = ("GPSLatitude", "GPSLongitude", "GPSMapDatum", "GPSHPositioningError")
EXIF = "{http://ns.adobe.com/exif/1.0/}"
HERE = position_mark(Position(0.119, 52.20511), 6.2)
THERE = position_mark(Position(-0.2, -16.5), 30.0)

ALL = pytest.mark.parametrize("text", packets.ALL.values(), ids=packets.ALL)


def read_by_exiv2(packet):
    picture = exiv2.ImageFactory.open(packet)
    picture.readMetadata()
    return {
        one.key().removeprefix("Xmp.exif."): str(one.value())
        for one in picture.xmpData()
        if one.key().startswith("Xmp.exif.")
    }


def read_by_tree(packet):
    """Return the properties of Exif, written as elements or as attributes."""
    found = {}
    for one in ET.fromstring(packet).iter():
        found.update({name.removeprefix(EXIF): text for name, text in one.attrib.items() if name.startswith(EXIF)})
        if one.tag.startswith(EXIF):
            found[one.tag.removeprefix(EXIF)] = one.text
    return found


def facts(packet):
    """Return everything but the properties of Exif."""
    root = ET.fromstring(packet)
    for parent in root.iter():
        for child in [one for one in parent if one.tag.startswith(EXIF)]:
            parent.remove(child)
        for name in [one for one in parent.attrib if one.startswith(EXIF)]:
            del parent.attrib[name]
    return [(one.tag, sorted(one.attrib.items()), (one.text or "").strip()) for one in root.iter()]


def degrees(coordinate):
    """Return degrees from the form that the XMP Specification gives for a coordinate with a fraction of minutes."""
    whole, minutes, sign = re.fullmatch(r"(\d{1,3}),(\d{1,2}\.\d+)([NSEW])", coordinate).groups()
    assert float(minutes) < 60
    return (int(whole) + float(minutes) / 60) * (-1 if sign in "SW" else 1)


@given(st.floats(-180, 180), st.floats(-90, 90), st.floats(0.1, 5000))
def test_a_position_is_what_independent_readers_find(longitude_deg, latitude_deg, uncertainty_m):
    mark = position_mark(Position(longitude_deg, latitude_deg), uncertainty_m)
    found = read_by_exiv2(put_position(NEW_PACKET.encode(), mark, last=None).packet)
    assert set(found) == set(NAMES)
    assert found["GPSMapDatum"] == "WGS-84"
    # Half of a ten-thousandth of a minute.
    assert degrees(found["GPSLatitude"]) == pytest.approx(latitude_deg, abs=0.5e-4 / 60 + 1e-9)
    assert degrees(found["GPSLongitude"]) == pytest.approx(longitude_deg, abs=0.5e-4 / 60 + 1e-9)
    tenths, ten = map(int, found["GPSHPositioningError"].split("/"))
    assert uncertainty_m - 1e-6 <= tenths / ten < uncertainty_m + 0.1


@pytest.mark.parametrize(
    ("degrees", "written"),
    [
        # 12 degrees, 34 minutes, 56.789 seconds: 12,34.946N with three digits (XMP Specification Part 3, 3.2.3.3).
        ((34.5789, 12 + 34 / 60 + 56.789 / 3600), "12,34.9465N 34,34.7340E"),
        ((-179.9999999, -59.9999999), "60,0.0000S 180,0.0000W"),
        ((0.0, 0.0), "0,0.0000N 0,0.0000E"),
        ((180.0, 90.0), "90,0.0000N 180,0.0000E"),
    ],
)
def test_coordinates_are_written_as_degrees_and_minutes(degrees, written):
    assert position_mark(Position(*degrees), 5.0).words == written


@ALL
def test_nothing_else_is_lost_or_changed_and_twice_is_once(text):
    put = put_position(text.encode(), HERE, last=None)
    assert put.ours == HERE.words and put.kept is None
    assert read_by_tree(put.packet) == dict(zip(NAMES, (HERE.latitude, HERE.longitude, "WGS-84", "62/10"), strict=True))
    before = [one for one in facts(text.encode()) if not one[0].endswith("}Description")]
    assert [one for one in facts(put.packet) if not one[0].endswith("}Description")] == before
    assert put_position(put.packet, HERE, last=HERE.words).packet == put.packet
    assert position_in(put.packet) == HERE


@ALL
def test_what_was_put_in_can_be_taken_out(text):
    packet = put_position(text.encode(), HERE, last=None).packet
    out = put_position(packet, None, last=HERE.words)
    assert (out.ours, read_by_tree(out.packet), position_in(out.packet)) == ("", {}, None)


def test_ours_of_an_earlier_run_is_replaced():
    packet = put_position(packets.RICH.encode(), HERE, last=None).packet
    put = put_position(packet, THERE, last=HERE.words)
    assert (put.ours, read_by_exiv2(put.packet)["GPSLatitude"]) == (THERE.words, "16,30.0000S")
    assert put.packet == put_position(packets.RICH.encode(), THERE, last=None).packet


def with_attributes(**values):
    said = " ".join(f'exif:{name}="{value}"' for name, value in values.items())
    return packets.NO_WRAPPER.replace("rdf:about=", f'xmlns:exif="{EXIF[1:-1]}" {said} rdf:about=').encode()


@pytest.mark.parametrize(
    ("values", "kept"),
    [
        ({"GPSLatitude": "52,6.0N", "GPSLongitude": "0,7.0E"}, "52,6.0N 0,7.0E"),
        ({"GPSLatitude": "52,6,0N", "GPSLongitude": "0,7,30E"}, "52,6,0N 0,7,30E"),
        ({"GPSLatitude": "somewhere"}, "somewhere"),
        ({"GPSMapDatum": "TOKYO"}, "in part"),
        ({"GPSLatitude": HERE.latitude, "GPSLongitude": HERE.longitude, "GPSMapDatum": "TOKYO"}, HERE.words),
    ],
)
@pytest.mark.parametrize("last", [None, "", HERE.words])
def test_a_position_of_another_program_stays_and_is_told(values, kept, last):
    packet = with_attributes(**values)
    for wanted, told in ((THERE, kept), (None, None)):
        put = put_position(packet, wanted, last=last)
        assert (put.packet, put.ours, put.kept) == (packet, None, told)


@pytest.mark.parametrize(
    ("latitude", "longitude"),
    [("52,12.3066N", "0,7.14E"), ("052,12.306600N", "000,07.1400E"), ("52,12,18.396N", "0,7,8.4E")],
)
def test_ours_is_known_in_other_words_too(latitude, longitude):
    packet = with_attributes(GPSLatitude=latitude, GPSLongitude=longitude, GPSAltitude="31/1")
    put = put_position(packet, THERE, last=HERE.words)
    assert put.ours == THERE.words
    assert read_by_tree(put.packet) == {
        "GPSLatitude": THERE.latitude,
        "GPSLongitude": THERE.longitude,
        "GPSMapDatum": "WGS-84",
        "GPSHPositioningError": "300/10",
        "GPSAltitude": "31/1",
    }


def test_what_another_program_says_as_we_would_is_nothing_to_tell_and_not_ours():
    packet = with_attributes(GPSLatitude=HERE.latitude, GPSLongitude=HERE.longitude)
    put = put_position(packet, HERE, last=None)
    assert (put.packet, put.ours, put.kept) == (packet, None, None)


def test_a_correction_by_two_metres_is_somebodys_own():
    packet = with_attributes(GPSLatitude="52,12.3077N", GPSLongitude=HERE.longitude)
    assert put_position(packet, THERE, last=HERE.words).packet == packet


@pytest.mark.parametrize("text", [packets.NO_PROPERTIES, packets.RICH])
def test_nothing_to_say_changes_nothing(text):
    assert put_position(text.encode(), None, last=None).packet == text.encode()


@pytest.mark.parametrize(
    ("packet", "is_told"),
    [
        (NEW_PACKET.encode(), False),
        (with_attributes(GPSMapDatum="WGS-84", GPSAltitude="31/1"), False),
        (with_attributes(GPSLatitude="52,6.0N"), True),
        (put_position(packets.RICH.encode(), HERE, last=None).packet, True),
    ],
)
def test_a_place_is_told_by_half_of_it_too(packet, is_told):
    assert holds_position(packet) == is_told


def test_what_is_no_packet_is_refused():
    for told in (b"<html/>", b"\xff\xd8\xff\xe0", b""):
        with pytest.raises(NotXml):
            put_position(told, HERE, last=None)


class TestRestoring:
    ours = put_position(packets.RICH.encode(), HERE, last=None).packet

    def test_takes_ours_out_or_brings_back_what_was_ours_before(self):
        assert position_in(restore_position(self.ours, HERE.words, None)) is None
        assert position_in(restore_position(self.ours, HERE.words, THERE)) == THERE

    def test_leaves_what_somebody_has_set_since(self):
        assert restore_position(self.ours, THERE.words, None) == self.ours

    def test_brings_nothing_back_that_somebody_has_taken_out_since(self):
        assert restore_position(packets.RICH.encode(), HERE.words, THERE) == packets.RICH.encode()

    def test_brings_back_what_we_took_out(self):
        assert position_in(restore_position(packets.RICH.encode(), "", HERE)) == HERE

    def test_a_part_of_a_position_is_none(self):
        assert position_in(with_attributes(GPSLatitude="52,6.0N")) is None
        assert position_in(self.ours) == PositionMark("52,12.3066N", "0,7.1400E", "62/10")
