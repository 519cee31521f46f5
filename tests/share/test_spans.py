import xml.etree.ElementTree as ET

import pytest

from stillwing.share.spans import Edits, NotXml, decoded, encoded, scan

from . import packets

ALL = pytest.mark.parametrize("text", packets.ALL.values(), ids=packets.ALL)


def tree_name(name):
    namespace, local = name
    return f"{{{namespace}}}{local}" if namespace else local


@ALL
def test_elements_and_attributes_are_those_that_elementtree_finds(text):
    found = list(scan(text.encode()).walk())
    expected = list(ET.fromstring(text.encode()).iter())
    assert [tree_name(element.name) for element in found] == [element.tag for element in expected]
    for element, other in zip(found, expected, strict=True):
        assert {tree_name(one.name): one.value for one in element.attributes} == other.attrib
        assert [tree_name(child.name) for child in element.children] == [child.tag for child in other]
        if not element.children:
            assert element.text == (other.text or "")


@ALL
def test_spans_cut_out_exactly_what_they_name(text):
    raw = text.encode()
    for element in scan(raw).walk():
        name = element.written_name
        assert raw[element.start : element.start + 1 + len(name)] == b"<" + name
        assert raw[element.inside - 1 : element.inside] == b">"
        if element.is_empty:
            assert element.inside == element.end == element.stop
        else:
            assert raw[element.end : element.stop] == b"</" + name + b">"
        for one in element.attributes:
            assert (
                raw[one.start : one.stop].strip().partition(b"=")[2].strip()[1:-1]
                == raw[one.value_start : one.value_stop]
            )


def test_children_go_in_where_the_lines_of_others_stand():
    text = b"<a>\n  <b/>\n</a>"
    edits = Edits(text)
    root = scan(text)
    edits.append_to(root, "<c/>")
    edits.append_to(root.children[0], "<d/>", "<e/>")
    assert edits.made() == b"<a>\n  <b>\n   <d/>\n   <e/>\n  </b>\n  <c/>\n</a>"


def test_a_text_on_one_line_stays_on_one_line():
    text = b"<a><b>1</b></a>"
    edits = Edits(text)
    edits.append_to(scan(text), "<c/>")
    assert edits.made() == b"<a><b>1</b><c/></a>"


def test_removing_takes_the_white_space_before_along():
    text = b"<a>\n <b/>\n <c/>\n</a>"
    edits = Edits(text)
    gone = scan(text).children[0]
    edits.remove(gone.start, gone.stop)
    assert edits.made() == b"<a>\n <c/>\n</a>"


def test_changes_that_overlap_are_a_mistake_of_ours():
    edits = Edits(b"<a>123</a>")
    edits.replace(3, 5, "x")
    edits.replace(4, 6, "y")
    with pytest.raises(ValueError, match="overlap"):
        edits.made()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32"])
def test_what_is_decoded_is_encoded_to_the_same_bytes(encoding):
    raw = packets.RICH.encode(encoding)
    assert encoded(*decoded(raw)) == raw


def test_entities_that_would_grow_without_end_are_refused():
    laughs = '<!DOCTYPE a [<!ENTITY b "ha">' + "".join(f'<!ENTITY c{i} "&b;&b;">' for i in range(9)) + "]><a>&c8;</a>"
    with pytest.raises(NotXml, match="document type"):
        scan(laughs.encode())
