"""Packets are checked with two readers that had no part in writing them: ElementTree, and libexiv2's XMP toolkit."""

import re
import xml.etree.ElementTree as ET
from difflib import SequenceMatcher

import exiv2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.share.packet import Marks, can_be_written, marks_in, merge
from stillwing.share.packetparts import NEW_PACKET
from stillwing.share.spans import NotXml

from . import packets

RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
XMP = "{http://ns.adobe.com/xap/1.0/}"
DC = "{http://purl.org/dc/elements/1.1/}"
LANGUAGE = "{http://www.w3.org/XML/1998/namespace}lang"

MARKS = Marks("4", ("stillwing keep", "weir & reeds"), "stillwing: sharpest of 14, <whole> animal in frame")
NONE = Marks(None, (), None)

ALL = pytest.mark.parametrize("text", packets.ALL.values(), ids=packets.ALL)


def facts(packet: bytes) -> list[str]:
    """Return all that a packet says about the picture but our three properties, whichever way it is written."""
    root = ET.fromstring(packet)
    said = []
    for description in root.iter(f"{RDF}Description"):
        for name, value in description.attrib.items():
            if name != f"{XMP}Rating" and value + name != f"{RDF}about":
                said.append(f"{name}={value}")
        for child in description:
            if child.tag not in (f"{XMP}Rating", f"{DC}subject", f"{DC}description"):
                said.append(ET.tostring(child, encoding="unicode").strip())
    return sorted(said)


def read_by_tree(packet: bytes) -> tuple[str | None, list[str], str | None]:
    """Return rating, keywords and default description as ElementTree finds them."""
    root = ET.fromstring(packet)
    rating = next((one.attrib[f"{XMP}Rating"] for one in root.iter() if f"{XMP}Rating" in one.attrib), None)
    rating = rating or next((one.text for one in root.iter(f"{XMP}Rating")), None)
    keywords = [li.text for subject in root.iter(f"{DC}subject") for li in subject.iter(f"{RDF}li")]
    items = [li for one in root.iter(f"{DC}description") for li in one.iter(f"{RDF}li")]
    return rating, keywords, next((li.text for li in items if li.get(LANGUAGE) == "x-default"), None)


def read_by_exiv2(packet: bytes) -> tuple[str, list[str], str]:
    """Return the same as libexiv2 finds them."""
    picture = exiv2.ImageFactory.open(packet)
    picture.readMetadata()
    data = picture.xmpData()
    return (
        str(data["Xmp.xmp.Rating"].value()),
        [str(data["Xmp.dc.subject"].value().toString(i)) for i in range(data["Xmp.dc.subject"].count())],
        str(data["Xmp.dc.description"].value()["x-default"]),
    )


@ALL
def test_our_marks_are_there_for_independent_readers(text):
    packet = merge(text.encode(), MARKS, overrule=True).packet
    rating, keywords, description = read_by_tree(packet)
    assert rating == "4"
    assert keywords[-2:] == ["stillwing keep", "weir & reeds"]
    assert description in (MARKS.description, "my words")
    assert marks_in(packet).rating == "4"


@ALL
def test_nothing_else_that_a_packet_says_is_lost(text):
    assert facts(merge(text.encode(), MARKS, overrule=True).packet) == facts(text.encode())


@ALL
def test_nothing_is_cut_from_a_packet_but_a_rating_and_the_slash_of_an_element_that_was_empty(text):
    after = merge(text.encode(), MARKS, overrule=True).packet.decode()
    changes = SequenceMatcher(None, text, after, autojunk=False).get_opcodes()
    assert {text[start:stop] for kind, start, stop, _, _ in changes if kind != "equal"} <= {"3", "0", "/", ""}


@ALL
def test_merging_twice_changes_nothing_more(text):
    once = merge(text.encode(), MARKS, overrule=True).packet
    assert merge(once, MARKS).packet == once


@ALL
def test_what_was_added_can_be_taken_out_again(text):
    before = text.encode()
    packet = merge(merge(before, MARKS, overrule=True).packet, NONE, last_rating="4").packet
    assert facts(packet) == facts(before)
    _, keywords, description = read_by_tree(packet)
    assert (marks_in(packet).rating, marks_in(packet).keywords, marks_in(packet).description) == (None, (), None)
    assert "stillwing keep" not in keywords
    assert description in (None, "my words")


@pytest.mark.parametrize("text", [None, packets.RICH, packets.ONE_LINE], ids=["new", "rich", "one line"])
def test_the_xmp_toolkit_reads_our_marks(text):
    packet = merge(None if text is None else text.encode(), MARKS, overrule=True).packet
    rating, keywords, description = read_by_exiv2(packet)
    assert rating == "4"
    assert set(keywords) >= set(MARKS.keywords)
    assert description == MARKS.description


def test_the_xmp_toolkit_finds_everything_else_as_before(tmp_path):
    def found(packet):
        picture = exiv2.ImageFactory.open(packet)
        picture.readMetadata()
        ours = ("Xmp.xmp.Rating", "Xmp.dc.subject", "Xmp.dc.description")
        return [(one.key(), str(one.value())) for one in picture.xmpData() if not one.key().startswith(ours)]

    before = found(packets.RICH.encode())
    assert len(before) > 20
    assert found(merge(packets.RICH.encode(), MARKS).packet) == before


def test_only_the_lines_of_our_marks_change_in_a_rich_packet():
    before, after = (
        one.decode().splitlines()
        for one in (packets.RICH.encode(), merge(packets.RICH.encode(), MARKS, overrule=True).packet)
    )
    assert [line for line in before if line not in after] == [line for line in before if 'Rating="3"' in line]
    assert [line.strip() for line in after if line not in before] == [
        next(line.strip().replace('"3"', '"4"') for line in before if "Rating" in line),
        "<rdf:li>stillwing keep</rdf:li>",
        "<rdf:li>weir &amp; reeds</rdf:li>",
        '<dc:description><rdf:Alt><rdf:li xml:lang="x-default">stillwing: sharpest of 14, &lt;whole&gt; animal in frame'
        "</rdf:li></rdf:Alt></dc:description>",
    ]


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-8-sig"])
def test_a_packet_keeps_its_encoding(encoding):
    packet = merge(packets.RICH.encode(encoding), MARKS, overrule=True).packet
    assert packet.decode(encoding) == merge(packets.RICH.encode(), MARKS, overrule=True).packet.decode()


def test_a_character_that_an_encoding_lacks_becomes_a_reference():
    text = '<?xml version="1.0" encoding="ISO-8859-1"?>\n' + packets.NO_WRAPPER
    packet = merge(text.encode("latin-1"), Marks("4", ("libellule \u00e9t\u00e9", "\u30c8\u30f3\u30dc"), None)).packet
    assert b"libellule \xe9t\xe9" in packet
    assert read_by_tree(packet)[1] == ["libellule \u00e9t\u00e9", "\u30c8\u30f3\u30dc"]


class TestRating:
    def test_of_somebody_else_stays_and_is_told(self):
        merged = merge(packets.RICH.encode(), MARKS)
        assert (merged.kept_rating, read_by_tree(merged.packet)[0]) == ("3", "3")

    def test_of_somebody_else_gives_way_when_asked_to(self):
        merged = merge(packets.RICH.encode(), MARKS, overrule=True)
        assert (merged.kept_rating, read_by_tree(merged.packet)[0]) == (None, "4")

    def test_equal_to_ours_is_nothing_to_tell(self):
        assert merge(packets.RICH.replace('"3"', '"4.0"').encode(), MARKS).kept_rating is None

    @pytest.mark.parametrize("unrated", ["0", "0.0", "", " "])
    def test_of_nothing_is_free_to_be_set(self, unrated):
        merged = merge(packets.RICH.replace('"3"', f'"{unrated}"').encode(), MARKS)
        assert (merged.kept_rating, read_by_tree(merged.packet)[0]) == (None, "4")

    @pytest.mark.parametrize("theirs", ["-1", "5", "1", "3.5", "five"])
    def test_of_any_other_kind_stays(self, theirs):
        merged = merge(packets.RICH.replace('"3"', f'"{theirs}"').encode(), MARKS)
        assert (merged.kept_rating, read_by_tree(merged.packet)[0]) == (theirs, theirs)

    def test_that_we_wrote_last_follows_the_choice(self):
        ours = merge(None, MARKS).packet
        assert read_by_tree(merge(ours, Marks("2", (), None), last_rating="4").packet)[0] == "2"
        assert read_by_tree(merge(ours, NONE, last_rating="4").packet)[0] is None

    def test_that_somebody_changed_after_us_stays(self):
        theirs = merge(None, MARKS).packet.replace(b">4<", b">5<")
        assert merge(theirs, Marks("2", (), None), last_rating="4").kept_rating == "5"

    @pytest.mark.parametrize("form", ["<xmp:Rating/>", "<xmp:Rating></xmp:Rating>", "<xmp:Rating> 0 </xmp:Rating>"])
    def test_in_an_element_is_replaced_in_place(self, form):
        text = packets.NO_WRAPPER.replace("<xmp:Rating>0</xmp:Rating>", form)
        assert read_by_tree(merge(text.encode(), MARKS).packet)[0] == "4"


def test_a_description_of_somebody_else_stays_and_is_told():
    merged = merge(packets.UNUSUAL_PREFIXES.encode(), MARKS)
    assert merged.kept_description == "my words"
    assert read_by_tree(merged.packet)[2] == "my words"


def test_a_description_in_another_language_only_stays_the_only_one():
    text = packets.UNUSUAL_PREFIXES.replace("<R:li xml:lang='x-default'>my words</R:li>", "")
    merged = merge(text.encode(), MARKS)
    assert merged.kept_description == "meine Worte"
    assert "stillwing:" not in merged.packet.decode()


def test_our_description_and_keywords_follow_the_choice():
    ours = merge(packets.RICH.encode(), MARKS).packet
    packet = merge(ours, Marks("2", ("stillwing spare",), "stillwing: second sharpest")).packet
    _, keywords, description = read_by_tree(packet)
    assert keywords == ["pond", "dragonfly", "weir & reeds", "stillwing spare"]
    assert description == "stillwing: second sharpest"


def test_our_description_goes_alone_where_another_language_stands_beside_it():
    ours = merge(packets.RICH.encode(), MARKS).packet.decode()
    both = ours.replace(
        "</rdf:li></rdf:Alt></dc:description>",
        '</rdf:li><rdf:li xml:lang="de">meine</rdf:li></rdf:Alt></dc:description>',
    )
    packet = merge(both.encode(), NONE).packet.decode()
    assert '<rdf:li xml:lang="de">meine</rdf:li>' in packet
    assert "stillwing:" not in packet


def test_nothing_of_ours_leaves_a_packet_as_it_is():
    assert merge(packets.RICH.encode(), NONE).packet == packets.RICH.encode()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "line 1: no element found"),
        ("<a><b></a>", "line 1: mismatched tag"),
        ("no xml at all", "line 1: syntax error"),
        ("<html><body/></html>", "it holds no rdf:RDF"),
        ('<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>', "declares a document type"),
        ('<!DOCTYPE a SYSTEM "file:///etc/passwd"><a/>', "declares a document type"),
        (
            packets.RICH.replace("<rdf:Bag>", "<rdf:Other>").replace("</rdf:Bag>", "</rdf:Other>"),
            "its dc:subject is no list",
        ),
        (packets.ONE_LINE.replace("<rdf:Bag/>", "reeds"), "its dc:subject is no list"),
        (packets.NO_WRAPPER.replace(">0<", "><rdf:Bag/><"), "its xmp:Rating is no plain number"),
    ],
)
def test_what_is_no_sound_packet_is_refused(text, said):
    with pytest.raises(NotXml, match=said):
        merge(text.encode(), MARKS)


@pytest.mark.parametrize(
    "raw",
    [b"\xff\xd8\xff\xe0 a picture", b"<a>\xff</a>", b"\xff\xfe\x00\xd8", b'<?xml version="1.0" encoding="odd"?><a/>'],
)
def test_bytes_that_are_no_text_are_refused(raw):
    with pytest.raises(NotXml, match=r"its bytes are no valid|line 1"):
        merge(raw, MARKS)


def test_a_deeply_nested_packet_is_read():
    deep = packets.RICH.replace("<odd:a>1</odd:a>", "<odd:a>" * 20_000 + "</odd:a>" * 20_000)
    assert b"stillwing keep" in merge(deep.encode(), MARKS).packet


texts = st.text(min_size=1).filter(can_be_written)


@given(texts, texts)
def test_any_words_come_back_as_they_were(keyword, words):
    # XML reads a carriage return as a line feed; a reader cannot tell them apart.
    keyword, words = (re.sub("\r\n?", "\n", one) for one in (keyword, words))
    packet = merge(packets.RICH.encode(), Marks("4", (keyword,), f"stillwing: {words}")).packet
    _, keywords, description = read_by_tree(packet)
    assert keyword in keywords
    assert description == f"stillwing: {words}"


@pytest.mark.parametrize("text", ["a\0b", "\x0b", "\ufffe", "\ud800"])
def test_characters_that_xml_cannot_hold_are_known(text):
    assert not can_be_written(text)


def test_a_new_packet_says_nothing():
    assert marks_in(NEW_PACKET.encode()) == NONE
    assert facts(NEW_PACKET.encode()) == []
