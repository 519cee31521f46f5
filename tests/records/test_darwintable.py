import pytest

from stillwing.errors import InputError
from stillwing.records.darwinmeta import Table
from stillwing.records.darwintable import described_rows, headed_rows

HEAD = "occurrenceID,basisOfRecord,scientificName,eventDate,remarks"
DWC = "http://rs.tdwg.org/dwc/terms/"


def table(**change: object) -> Table:
    plain = {"row_type": "", "file": "x.txt", "encoding": "UTF-8", "delimiter": "\t", "quote": "", "n_header_lines": 1}
    columns = ((0, f"{DWC}sex"), (2, "http://example.org/terms/sex"))
    return Table(**plain | {"key_column": 1, "columns": columns, "constants": ()} | change)  # type: ignore[arg-type]


def test_lines_are_counted_as_they_stand_in_the_file() -> None:
    rows = headed_rows(f'\ufeff{HEAD}\na,b,c,d,"two\nlines"\n,,,,\ne,f,g,h,i\n'.encode())
    assert [line for line, _ in rows] == [3, 5]
    assert rows[0][1]["remarks"] == "two lines"  # type: ignore[index]


def test_a_prefix_before_a_term_is_no_matter() -> None:
    rows = headed_rows(("dwc:" + HEAD.replace(",", ",dwc:") + "\na,b,c,d,e").encode())
    assert rows == [(2, dict(zip(HEAD.split(","), "abcde", strict=True)))]


def test_a_row_that_is_too_short_is_told_with_its_line() -> None:
    assert headed_rows(f"{HEAD}\na,b\n".encode()) == [(2, "has 2 cells; the first line names 5 columns")]
    assert described_rows(b"head\nm\tk\n", table()) == [(2, "has 2 cells; the table has 3 columns")]


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "the file is empty"),
        (b"sex,eventDate\n", "has no column occurrenceID, basisOfRecord, scientificName"),
        (HEAD.replace(",", ";").encode(), "columns are parted by commas"),
        (f"{HEAD},remarks\n".encode(), 'names a column "remarks" 2 times'),
        (f"{HEAD}\na,b,c,d,\xe9".encode("latin-1"), "line 2: this is not written in utf-8"),
        (f'{HEAD}\na,b,c,d,"open'.encode(), "line 2: this is no row of a table"),
    ],
)
def test_a_table_that_cannot_be_read_is_told_in_one_sentence(content: bytes, told: str) -> None:
    with pytest.raises(InputError) as caught:
        headed_rows(content)
    assert told in str(caught.value)


def test_a_described_table_is_read_by_its_description() -> None:
    rows = described_rows("head\nmale\tk\tx\n".encode("utf-16"), table(encoding="UTF-16"))
    assert rows == [(2, {"sex": "male", "http://example.org/terms/sex": "x", "coreid": "k"})]


def test_a_constant_stands_where_a_cell_is_empty() -> None:
    filled = table(constants=((f"{DWC}sex", "female"), (f"{DWC}kingdom", "Animalia")))
    (_, cells), (_, others) = described_rows(b"head\n\tk\tx\nmale\tk\tx\n", filled)
    assert (cells["sex"], cells["kingdom"], others["sex"]) == ("female", "Animalia", "male")  # type: ignore[index]


def test_an_unknown_encoding_is_told() -> None:
    with pytest.raises(InputError, match="the encoding Klingon is not known"):
        described_rows(b"x", table(encoding="Klingon"))
