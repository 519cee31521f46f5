import base64
import io
import re
import zlib
from html.parser import HTMLParser

import pytest
from PIL import Image

from stillwing.errors import InputError, WriteFailed
from stillwing.fieldbook.choices import store_proposals
from stillwing.fieldbook.frames import store_chunk
from stillwing.fieldbook.listing import store_listing
from stillwing.fieldbook.outings import open_outing
from stillwing.frames.chosen import Choice, Proposal
from stillwing.frames.frame import Burst, Frame, Tags
from stillwing.frames.measured import MeasuredFrame
from stillwing.share.fonts import Fonts
from stillwing.share.sheet import write_sheet

from .conftest import BLURS_PX, animal_in, fill_up, hold


def words_of_pdf(raw: bytes) -> str:
    """Return the text that a PDF of ours draws, line by line, straight from its page streams."""
    words = []
    for stream in re.findall(rb"/Filter \[ /ASCII85Decode /FlateDecode \].*?stream\r?\n(.*?)endstream", raw, re.S):
        content = zlib.decompress(base64.a85decode(b"<~" + stream.strip(), adobe=True))
        words += re.findall(rb"\(((?:[^()\\]|\\.)*)\) Tj", content)
    return "\n".join(re.sub(rb"\\([()\\])", rb"\1", word).decode("cp1252", "replace") for word in words)


class Sheet(HTMLParser):
    """What a contact sheet in HTML shows, and whatever it would fetch."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.pictures: list[bytes] = []
        self.fetched: list[str] = []
        self.words = ""
        self.tags: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        for name, value in attrs:
            if name in ("src", "href", "data", "action", "srcset", "poster", "background"):
                if value.startswith("data:image/jpeg;base64,"):
                    self.pictures.append(base64.b64decode(value.partition(",")[2], validate=True))
                else:
                    self.fetched.append(value)

    def handle_data(self, data):
        if "style" not in self.tags[-1:]:
            self.words += data


@pytest.fixture
def html(held, tmp_path):
    assert write_sheet(held.book, held.id, tmp_path / "sheet.html", (Choice.KEEP, Choice.SPARE)) == 3
    return (tmp_path / "sheet.html").read_text(encoding="utf-8")


@pytest.fixture
def pdf(held, tmp_path):
    assert write_sheet(held.book, held.id, tmp_path / "sheet.pdf", (Choice.KEEP, Choice.SPARE)) == 3
    return (tmp_path / "sheet.pdf").read_bytes()


@pytest.mark.parametrize(
    "words",
    [
        "A0001.JPG",
        "A0004.JPG",
        "blur 0.75 px (0.7 to 0.8)",
        "usable to 500 px wide, 5 cm at 240 ppi",
        "keep, proposed: 1. sharpest of 4",
        "spare, proposed: 4. sharpest of 4",
        "50 px of the original",
        "3 of 4 frames",
        "sharp for screen 400",
        "1 px",
    ],
)
def test_both_say_which_frames_how_sharp_and_why_with_units(html, pdf, words):
    assert words in " ".join(Sheet(html).words.split())
    assert words in " ".join(words_of_pdf(pdf).split())


def test_the_html_needs_nothing_from_outside_and_runs_nothing(html):
    sheet = Sheet(html)
    assert sheet.fetched == []
    assert "script" not in sheet.tags
    assert "link" not in sheet.tags
    assert "url(" not in html
    assert "@import" not in html
    assert "default-src 'none'; img-src data:; style-src 'unsafe-inline'" in html
    assert not re.search(r"\bon[a-z]+=", html)


def test_its_pictures_are_whole_and_small(html):
    pictures = [Image.open(io.BytesIO(jpeg)) for jpeg in Sheet(html).pictures]
    assert len(pictures) == 3
    for picture in pictures:
        picture.load()
    assert len(html) < 60_000


def test_it_has_a_light_and_a_dark_dress(html):
    assert "--paper: #fbfcfa" in html
    dark = html[html.index("@media (prefers-color-scheme: dark)") :]
    assert "--paper: #0f1419" in dark[: dark.index("@media print")]


def test_the_pdf_is_sound_and_small(pdf):
    assert pdf.startswith(b"%PDF-")
    assert pdf.rstrip().endswith(b"%%EOF")
    assert pdf.count(b"/Subtype /Image") == 3
    assert pdf.count(b"/DCTDecode") == 3
    assert len(re.findall(rb"/Type /Page\b", pdf)) == 1
    assert len(pdf) < 60_000


def test_the_same_sheet_gives_the_same_bytes(held, tmp_path, pdf, html):
    for name in ("again.pdf", "again.html"):
        write_sheet(held.book, held.id, tmp_path / name, (Choice.KEEP, Choice.SPARE))
    assert (tmp_path / "again.pdf").read_bytes() == pdf
    assert (tmp_path / "again.html").read_text(encoding="utf-8") == html


def test_a_long_outing_runs_over_pages_and_shows_every_frame(book, tmp_path, draw_burst):
    boxes = {}
    for i in range(3):
        boxes |= draw_burst(tmp_path / "photos", BLURS_PX, prefix=f"A{i}", start_s=60.0 * i)
    held = hold_all(book, tmp_path / "photos", boxes)
    assert write_sheet(book, held, tmp_path / "sheet.pdf") == 12
    raw = (tmp_path / "sheet.pdf").read_bytes()
    assert len(re.findall(rb"/Type /Page\b", raw)) == 2
    words = words_of_pdf(raw)
    assert {path.name for path in boxes} <= set(words.splitlines())
    assert "pond, page 2" in words


def hold_all(book, folder, boxes):
    frames = [Frame((path,), Tags()) for path in boxes]
    outing = open_outing(book, "pond", folder)
    store_listing(book, outing.id, folder, [Burst("A", tuple(frames))])
    chunk = [MeasuredFrame(frame, 640, 480, (animal_in(boxes[frame.path], 1.0),)) for frame in frames]
    store_chunk(book, outing.id, chunk, code_version="1")
    store_proposals(book, outing.id, [Proposal(path, Choice.KEEP, "why") for path in boxes], sharp_for="full")
    return outing.id


def test_words_from_a_file_name_or_a_tag_are_never_markup(book, tmp_path, draw_burst):
    folder = tmp_path / "<script>alert(1)</script>"
    boxes = draw_burst(folder, BLURS_PX, prefix='<img src=x onerror="1">&amp;')
    held = hold(book, folder, boxes, name="<b>pond</b>")
    write_sheet(book, held.id, tmp_path / "sheet.html")
    sheet = Sheet((tmp_path / "sheet.html").read_text())
    assert sheet.fetched == []
    assert not {"script", "b"} & set(sheet.tags)
    assert '<img src=x onerror="1">&amp;0001.JPG' in sheet.words
    write_sheet(book, held.id, tmp_path / "sheet.pdf")


@pytest.mark.parametrize(
    "name",
    [
        "v\u00e1clav \u010d\u0159",
        "\u0441\u0442\u0440\u0435\u043a\u043e\u0437\u0430",
        "\u30c8\u30f3\u30dc",
        "caf\udce9",
        "a\x07b",
    ],
)
@pytest.mark.parametrize("ending", ["pdf", "html"])
def test_names_in_any_script_can_be_shown(book, tmp_path, draw_burst, name, ending):
    folder = tmp_path / "photos"
    held = hold(book, folder, draw_burst(folder, BLURS_PX, prefix=name), name=name)
    assert write_sheet(book, held.id, tmp_path / f"sheet.{ending}") == 2


def test_a_text_gets_a_font_that_can_show_it_or_escapes():
    fonts = Fonts()
    assert fonts.for_text("caf\u00e9") == "Helvetica"
    name = fonts.for_text("\u0441\u0442\u0440\u0435\u043a\u043e\u0437\u0430")
    shown = fonts.shown("\u0441", name)
    assert shown == ("\\u0441" if name == "Helvetica" else "\u0441")
    assert fonts.shown("\ue000", fonts.for_text("\ue000 no font has this")) == "\\ue000"


def test_a_picture_that_is_gone_leaves_its_sentence_in_both(held, tmp_path):
    held.paths[0].unlink()
    for name in ("sheet.html", "sheet.pdf"):
        assert write_sheet(held.book, held.id, tmp_path / name) == 2
    assert str(held.paths[0]) in Sheet((tmp_path / "sheet.html").read_text()).words
    assert held.paths[0].name in words_of_pdf((tmp_path / "sheet.pdf").read_bytes())


@pytest.mark.parametrize("name", ["sheet.png", "sheet"])
def test_another_ending_is_refused(held, tmp_path, name):
    with pytest.raises(InputError, match=r"a contact sheet is written as \.pdf or \.html"):
        write_sheet(held.book, held.id, tmp_path / name)


@pytest.mark.parametrize("name", ["sheet.html", "sheet.pdf"])
def test_nothing_to_show_leaves_no_file_and_no_draft(held, tmp_path, name):
    held.propose(*[Choice.LEAVE] * 4)
    (tmp_path / "out").mkdir()
    with pytest.raises(InputError, match="a contact sheet would be empty"):
        write_sheet(held.book, held.id, tmp_path / "out" / name)
    assert list((tmp_path / "out").iterdir()) == []


@pytest.mark.parametrize("name", ["sheet.html", "sheet.pdf"])
def test_a_full_disk_is_one_sentence_and_the_old_sheet_stays(held, small_disk, name):
    (small_disk / name).write_text("old")
    fill_up(small_disk)
    with pytest.raises(WriteFailed, match="cannot be written: No space left on device"):
        write_sheet(held.book, held.id, small_disk / name)
    assert (small_disk / name).read_text() == "old"
    assert sorted(path.name for path in small_disk.iterdir()) == ["ballast", name]
