"""Names among the keywords are read back with libexiv2's XMP toolkit and with ElementTree, which did not write them."""

import xml.etree.ElementTree as ET
from collections import Counter

import exiv2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.share.packet import Marks, can_be_written, merge
from stillwing.share.packetnames import names_in, put_names, restore_names
from stillwing.share.packetparts import NEW_PACKET
from stillwing.share.spans import NotXml

from . import packets

RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
DC = "{http://purl.org/dc/elements/1.1/}"
OURS = "{stillwing:ns:sidecar/}"
HAWKER = ("Aeshna cf. juncea", "Common Hawker (uncertain)", "egg laying")
DARTER = ("Sympetrum danae", "Black Darter")
NEW = NEW_PACKET.encode()

ALL = pytest.mark.parametrize("text", packets.ALL.values(), ids=packets.ALL)


def read_by_exiv2(packet):
    """Return the keywords and our own list as libexiv2's XMP toolkit finds them."""
    picture = exiv2.ImageFactory.open(packet)
    picture.readMetadata()
    data = picture.xmpData()
    told = {one.key(): [str(one.value().toString(i)) for i in range(one.count())] for one in data}
    return told.get("Xmp.dc.subject", []), told.get("Xmp.stillwing.names", [])


def keywords(packet):
    return [li.text for subject in ET.fromstring(packet).iter(f"{DC}subject") for li in subject.iter(f"{RDF}li")]


def facts(packet):
    """Return all that a packet says about the picture but its keywords and our list."""
    said = []
    for description in ET.fromstring(packet).iter(f"{RDF}Description"):
        said += [f"{name}={value}" for name, value in description.attrib.items() if value + name != f"{RDF}about"]
        said += [
            ET.tostring(child, encoding="unicode").strip()
            for child in description
            if child.tag not in (f"{DC}subject", f"{OURS}names")
        ]
    return sorted(said)


def with_keywords(*theirs):
    """Return a packet in which another program has put these keywords."""
    return merge(None, Marks(None, theirs, None)).packet


@pytest.mark.parametrize("text", [NEW_PACKET, packets.RICH, packets.ONE_LINE], ids=["new", "rich", "one line"])
def test_the_xmp_toolkit_finds_the_names_among_the_keywords(text):
    before, _ = read_by_exiv2(text.encode())
    found, listed = read_by_exiv2(put_names(text.encode(), HAWKER))
    assert found == [*before, *HAWKER]
    assert listed == list(HAWKER)


def test_the_xmp_toolkit_finds_everything_else_as_before():
    def found(packet):
        picture = exiv2.ImageFactory.open(packet)
        picture.readMetadata()
        ours = ("Xmp.dc.subject", "Xmp.stillwing.names")
        return [(one.key(), str(one.value())) for one in picture.xmpData() if not one.key().startswith(ours)]

    before = found(packets.RICH.encode())
    assert len(before) > 20
    assert found(put_names(packets.RICH.encode(), HAWKER)) == before


@ALL
def test_nothing_else_is_lost_and_twice_is_once(text):
    packet = put_names(text.encode(), HAWKER)
    assert facts(packet) == facts(text.encode())
    assert keywords(packet) == [*keywords(text.encode()), *HAWKER]
    assert names_in(packet) == HAWKER
    assert put_names(packet, HAWKER) == packet


@ALL
def test_what_was_put_in_can_be_taken_out_and_nothing_of_others(text):
    out = put_names(put_names(text.encode(), HAWKER), ())
    assert (facts(out), keywords(out), names_in(out)) == (facts(text.encode()), keywords(text.encode()), ())


def test_a_rich_packet_is_the_same_byte_for_byte_once_they_are_out():
    assert put_names(put_names(packets.RICH.encode(), HAWKER), ()) == packets.RICH.encode()


@ALL
def test_none_to_write_or_to_take_out_changes_no_byte(text):
    assert put_names(text.encode(), ()) == text.encode()
    assert put_names(text.encode(), None) == text.encode()


def test_a_new_name_takes_the_place_of_ours_and_of_no_others():
    packet = put_names(put_names(packets.RICH.encode(), HAWKER), DARTER)
    assert keywords(packet) == ["pond", "dragonfly", *DARTER]
    assert names_in(packet) == DARTER


def test_a_name_that_somebody_else_had_put_there_stays_when_the_sighting_goes():
    packet = put_names(with_keywords("Black Darter", "pond"), DARTER)
    assert (keywords(packet), names_in(packet)) == (["Black Darter", "pond", "Sympetrum danae"], ("Sympetrum danae",))
    assert keywords(put_names(packet, ())) == ["Black Darter", "pond"]


def test_a_name_that_another_program_has_added_once_more_goes_once():
    packet = put_names(NEW, DARTER).replace(
        b"<rdf:Bag><rdf:li>Sympetrum", b"<rdf:Bag><rdf:li>Black Darter</rdf:li><rdf:li>Sympetrum", 1
    )
    assert keywords(packet) == ["Black Darter", *DARTER]
    assert keywords(put_names(packet, ())) == ["Black Darter"]


def test_a_name_that_is_given_as_a_keyword_is_the_persons_from_then_on():
    packet = put_names(NEW, DARTER)
    for wanted in (None, DARTER):
        theirs = put_names(packet, wanted, keywords=["Black Darter"])
        assert (keywords(theirs), names_in(theirs)) == (list(DARTER), ("Sympetrum danae",))
        assert keywords(put_names(theirs, ())) == ["Black Darter"]


def test_after_another_program_has_written_the_whole_sidecar_anew_ours_are_still_known(tmp_path):
    path = tmp_path / "A0001.xmp"
    path.write_bytes(put_names(packets.RICH.encode(), DARTER))
    picture = exiv2.ImageFactory.open(str(path))
    picture.readMetadata()
    data = picture.xmpData()
    data["Xmp.dc.subject"] = exiv2.XmpArrayValue(["pond", "Black Darter", "theirs", "Sympetrum danae"])
    data["Xmp.xmp.Label"] = "theirs too"
    picture.writeMetadata()
    assert b"Some Toolkit 1.2" not in path.read_bytes()
    packet = put_names(path.read_bytes(), HAWKER)
    assert read_by_exiv2(packet) == (["pond", "theirs", *HAWKER], list(HAWKER))
    assert keywords(put_names(packet, ())) == ["pond", "theirs"]


def test_where_another_program_drops_our_list_the_names_stay():
    packet = put_names(packets.RICH.encode(), DARTER)
    start, stop = packet.index(b"<stillwing:names"), packet.index(b"</stillwing:names>") + len("</stillwing:names>")
    dropped = packet[:start] + packet[stop:]
    assert put_names(dropped, ()) == dropped
    assert keywords(put_names(dropped, HAWKER)) == ["pond", "dragonfly", *DARTER, *HAWKER]


@pytest.mark.parametrize("encoding", ["utf-16", "utf-32", "utf-8-sig"])
def test_a_packet_keeps_its_encoding(encoding):
    packet = put_names(packets.RICH.encode(encoding), HAWKER)
    assert packet.decode(encoding) == put_names(packets.RICH.encode(), HAWKER).decode()


@pytest.mark.parametrize(
    "told", [b"<html/>", b"\xff\xd8\xff\xe0", packets.ONE_LINE.replace("<rdf:Bag/>", "x").encode()]
)
def test_what_is_no_sound_packet_is_refused(told):
    with pytest.raises(NotXml):
        put_names(told, HAWKER)


def test_our_list_as_something_else_is_refused():
    told = put_names(NEW, DARTER).replace(b"<stillwing:names ", b'<stillwing:names foo="" ')
    assert keywords(put_names(told, ())) == []
    with pytest.raises(NotXml, match="its stillwing:names is no list"):
        put_names(
            packets.NO_WRAPPER.replace("<xmp:", f'<a:names xmlns:a="{OURS[1:-1]}">x</a:names><xmp:', 1).encode(), DARTER
        )


class TestRestoring:
    ours = put_names(packets.RICH.encode(), DARTER)

    def test_takes_ours_out_or_brings_back_what_was_ours_before(self):
        assert restore_names(self.ours, ()) == packets.RICH.encode()
        assert keywords(restore_names(self.ours, HAWKER)) == ["pond", "dragonfly", *HAWKER]

    def test_brings_back_what_we_took_out(self):
        assert restore_names(packets.RICH.encode(), DARTER) == self.ours

    def test_changes_nothing_where_the_same_are_ours(self):
        gone = self.ours.replace(b"<rdf:li>Black Darter</rdf:li>", b"", 1)
        assert restore_names(gone, DARTER) == gone


# A carriage return is read as a line feed by every reader of XML, and a sighting's name is one line.
words = st.text(min_size=1, max_size=12).filter(lambda text: can_be_written(text) and "\r" not in text)
small = st.lists(st.sampled_from(["Lestes", "male", "pond", "a & b", "Lestes sponsa"]), max_size=4, unique=True)


@given(st.lists(words, max_size=4, unique=True))
def test_any_names_come_back_as_they_were(names):
    packet = put_names(packets.RICH.encode(), names)
    found = [name for name in names if name not in ("pond", "dragonfly")]
    assert keywords(packet) == ["pond", "dragonfly", *found]
    assert put_names(packet, ()) == packets.RICH.encode()


@given(small, st.lists(small, max_size=4), st.sampled_from(sorted(packets.ALL)))
def test_through_any_changes_the_keywords_of_others_stay_and_ours_are_those_wanted_last(theirs, steps, kind):
    packet = merge(packets.ALL[kind].encode(), Marks(None, tuple(theirs), None)).packet
    before = keywords(packet)
    for wanted in steps:
        packet = put_names(packet, wanted)
        assert Counter(keywords(packet)) == Counter(before) + Counter(set(wanted) - set(before))
    assert Counter(keywords(put_names(packet, ()))) == Counter(before)
    assert facts(packet) == facts(packets.ALL[kind].encode())
